// An engine's own thread: it starts the WebAssembly and hands texts in and out.
import './built/wasm_exec.js';
import { keptLines } from '../device/kept';
import { type Answer, loadKept, type Question } from './protocol';

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

/** A question as the engine takes it. */
async function whole({ id, name, input }: Question): Promise<Question> {
  if (name !== loadKept) return { id, name, input };
  const lines = await keptLines((JSON.parse(input) as { store: string }).store);
  return { id, name: 'load', input: JSON.stringify({ lines }) };
}

/** Answers what the page asks, with the engine from this address. */
export function serve(url: string): void {
  const engine = start(url);
  const encoder = new TextEncoder();
  const decoder = new TextDecoder();
  const answer = async (question: Question): Promise<void> => {
    const [{ id, name, input }, { call }] = await Promise.all([whole(question), engine]);
    post({ id, text: decoder.decode(call(name, encoder.encode(input))) });
  };
  self.onmessage = ({ data }: MessageEvent<Question>) =>
    answer(data).catch((err: unknown) => post({ gone: String(err) }));
}
