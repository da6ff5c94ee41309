// Runs calls in the WebAssembly of sapwell-wasm: node run.cjs <wasm_exec.js> <engine>,
// calls as JSON on stdin, answers as JSON on stdout.
const fs = require('fs');
require(process.argv[2]);

(async () => {
  const go = new Go();
  const { instance } = await WebAssembly.instantiate(fs.readFileSync(process.argv[3]), go.importObject);
  void go.run(instance);
  const encoder = new TextEncoder();
  const decoder = new TextDecoder();
  const times = [];
  const answers = JSON.parse(fs.readFileSync(0, 'utf8')).map((asked) => {
    const before = performance.now();
    const answer = globalThis.sapwell.call(asked.Name, encoder.encode(asked.Input));
    times.push(performance.now() - before);
    return decoder.decode(answer);
  });
  process.stdout.write(JSON.stringify({ answers, times }), () => process.exit(0));
})();
