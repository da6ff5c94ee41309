// An engine's own thread: it starts the WebAssembly and hands texts in and out.
import './built/wasm_exec.js';
import type { Answer, Question } from './protocol';

declare const Go: new () => {
  importObject: WebAssembly.Imports;
  run(of: WebAssembly.Instance): Promise<void>;
};

/** What cmd/sapwell-wasm hangs on globalThis. */
type Engine = { call(name: string, input: Uint8Array): Uint8Array };

const post = (answer: Answer): void => self.postMessage(answer);

async function start(url: string): Promise<Engine> {
  const go = new Go();
  const { instance } = await WebAssembly.instantiateStreaming(fetch(url), go.importObject);
  // It runs until it breaks. What it held then is in the page's database.
  go.run(instance).then(
    () => post({ gone: 'the engine ended' }),
    (err: unknown) => post({ gone: String(err) }),
  );
  return (globalThis as unknown as { sapwell: Engine }).sapwell;
}

/** Answers what the page asks, with the engine from this address. */
export function serve(url: string): void {
  const engine = start(url);
  engine.catch((err: unknown) => post({ gone: String(err) }));
  const encoder = new TextEncoder();
  const decoder = new TextDecoder();
  self.onmessage = async ({ data }: MessageEvent<Question>) => {
    const { call } = await engine;
    post({ id: data.id, text: decoder.decode(call(data.name, encoder.encode(data.input))) });
  };
}
