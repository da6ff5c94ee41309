// Listening and reading aloud, where the browser can.

// The names are those of the Web Speech API.
interface Recognition extends EventTarget {
  lang: string;
  start(): void;
  onresult: ((e: { results: { 0: { 0: { transcript: string } } } }) => void) | null;
  onerror: ((e: { error: string }) => void) | null;
  onend: (() => void) | null;
}

type Host = { SpeechRecognition?: new () => Recognition; webkitSpeechRecognition?: new () => Recognition };

const maker = (): (new () => Recognition) | undefined => {
  const host = globalThis as unknown as Host;
  return host.SpeechRecognition ?? host.webkitSpeechRecognition;
};

/** Whether there is something to listen with, and the server's page lets it. */
export function canListen(): boolean {
  const policy = (document as unknown as { featurePolicy?: { allowsFeature(name: string): boolean } })
    .featurePolicy;
  return maker() !== undefined && (policy?.allowsFeature('microphone') ?? true);
}

/** Hears one thing said. */
export function listen(lang: string): Promise<string> {
  const Made = maker();
  if (!Made) return Promise.reject(new Error('nothing to listen with'));
  return new Promise((resolve, reject) => {
    const ear = new Made();
    ear.lang = lang;
    ear.onresult = (e) => resolve(e.results[0][0].transcript);
    ear.onerror = (e) => reject(new Error(e.error));
    ear.onend = () => reject(new Error('nothing was said'));
    ear.start();
  });
}

export const canRead = (): boolean => typeof speechSynthesis !== 'undefined';

/** Reads a sentence aloud, in place of the one before. */
export function readAloud(text: string, lang: string): void {
  if (!canRead()) return;
  speechSynthesis.cancel();
  const said = new SpeechSynthesisUtterance(text);
  said.lang = lang;
  speechSynthesis.speak(said);
}
