// The engine's own thread: it starts the WebAssembly and hands texts in and out.
import './built/wasm_exec.js';
import engineURL from './built/engine.wasm?url';
import type { Answer, Question } from './protocol';

declare const Go: new () => {
  importObject: WebAssembly.Imports;
  run(of: WebAssembly.Instance): Promise<void>;
};

/** What cmd/sapwell-wasm hangs on globalThis. */
type Engine = { call(name: string, input: Uint8Array): Uint8Array };

const post = (answer: Answer): void => self.postMessage(answer);

async function start(): Promise<Engine> {
  const go = new Go();
  const { instance } = await WebAssembly.instantiateStreaming(fetch(engineURL), go.importObject);
  // It runs until it breaks. What it held then is in the page's database.
  go.run(instance).then(
    () => post({ gone: 'the engine ended' }),
    (err: unknown) => post({ gone: String(err) }),
  );
  return (globalThis as unknown as { sapwell: Engine }).sapwell;
}

const engine = start();
engine.catch((err: unknown) => post({ gone: String(err) }));

const encoder = new TextEncoder();
const decoder = new TextDecoder();

self.onmessage = async ({ data }: MessageEvent<Question>) => {
  const { call } = await engine;
  post({ id: data.id, text: decoder.decode(call(data.name, encoder.encode(data.input))) });
};
