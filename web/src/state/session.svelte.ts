// Who works with this device, for whom, and with which key it signs.
import type { Store } from '../device/store';
import type { Api, Enrolled } from '../sync/api';
import type { Deeds } from './deeds.svelte';
import type { Engine } from './engine';
import type { Kept as Wishes } from './settings.svelte';

interface Started {
  device?: string;
  key?: string;
}

/** What a person says who begins alone. */
export interface Beginning {
  name: string;
  country: string;
  zone: string;
  keep_years: number;
  person: string;
  roles: string[];
  device: string;
}

const base64 = (bytes: Uint8Array): string => btoa(String.fromCharCode(...bytes));
const chance = (): string => base64(crypto.getRandomValues(new Uint8Array(32)));

export class Session {
  device = $state('');
  org = $state('');
  person = $state('');
  size = $state(0); // entries on the device
  joined = $derived(this.org !== '' && this.person !== '');

  #engine: Engine;
  #store: Store;
  #api: Api;
  #now: () => number;

  constructor(engine: Engine, store: Store, api: Api, now: () => number) {
    this.#engine = engine;
    this.#store = store;
    this.#api = api;
    this.#now = now;
  }

  /** Starts the engine with what the device keeps. */
  async wake(wishes: Wishes): Promise<void> {
    const seed = (await this.#store.get<string>('seed')) ?? (await this.#newSeed());
    const org = (await this.#store.get<string>('org')) ?? '';
    const person = (await this.#store.get<string>('person')) ?? '';
    const told = await this.#engine.call<Started>('start', {
      lang: wishes.lang,
      units: wishes.units,
      chance: chance(),
      seed,
      offset_minutes: -new Date(this.#now()).getTimezoneOffset(),
      ...(org ? { org } : {}),
      ...(person ? { person } : {}),
    });
    this.device = told.device ?? '';
    this.org = org;
    this.person = person;
    const lines = await this.#store.lines();
    if (lines.length > 0) await this.#engine.call('load', { lines });
    this.size = lines.length;
  }

  /** Tells the engine the language and units. */
  async speak(wishes: Wishes): Promise<void> {
    await this.#engine.call('speak', { lang: wishes.lang, units: wishes.units });
  }

  /** Shows the office, with the secret of an invite, that the key is ours. */
  async join(link: string, name: string, wishes: Wishes): Promise<Enrolled> {
    const proof = await this.#engine.call<Parameters<Api['enrol']>[0]>('enrol', {
      secret: secretOf(link),
      name,
    });
    const came = await this.#api.enrol(proof);
    await this.#store.set('token', came.token);
    await this.#be(came.org, came.person, wishes);
    return came;
  }

  /** Begins an organisation on this device, with no office behind it. */
  async begin(b: Beginning, deeds: Deeds, wishes: Wishes): Promise<void> {
    const made = await deeds.write<{ org: string; person: string; lines: { line: string; time: number }[] }>(
      'found',
      {
        ...b,
        now: this.#now(),
      },
    );
    await this.#be(made.org, made.person, wishes);
  }

  async #be(org: string, person: string, wishes: Wishes): Promise<void> {
    await this.#store.set('org', org);
    await this.#store.set('person', person);
    await this.wake(wishes);
  }

  async #newSeed(): Promise<string> {
    const seed = chance();
    await this.#store.set('seed', seed);
    return seed;
  }
}

/** The secret of a link such as https://office.example/enrol#secret.fingerprint, or
    of what stands behind the #. */
export function secretOf(link: string): string {
  const mark = link.trim().split('#').pop() ?? '';
  return mark.split('.')[0] ?? '';
}
