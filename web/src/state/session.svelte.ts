// Who works with this device, for whom, and with which key it signs.
import type { Store } from '../device/store';
import type { Api, Enrolled } from '../sync/api';
import type { Deeds } from './deeds.svelte';
import type { Engine } from './engine';
import { loadKept } from '../engine/protocol';
import type { Speaking } from '../engine/types';

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
  async wake(how: Speaking, engine = this.#engine): Promise<void> {
    await this.recall();
    const [told, size] = await Promise.all([this.tell(engine, how), this.#store.size()]);
    this.device = told.device ?? '';
    this.size = size;
  }

  /** Reads who works with this device, which needs no engine. */
  async recall(): Promise<void> {
    const [org, person] = await Promise.all(['org', 'person'].map((what) => this.#store.get<string>(what)));
    this.org = org ?? '';
    this.person = person ?? '';
  }

  /** Tells an engine who we are, and all that the device keeps. */
  async tell(engine: Engine, how: Speaking): Promise<Started> {
    const seed = (await this.#store.get<string>('seed')) ?? (await this.#newSeed());
    const { org, person } = this;
    const begun = engine.call<Started>('start', {
      ...how,
      chance: chance(),
      seed,
      offset_minutes: -new Date(this.#now()).getTimezoneOffset(),
      ...(org ? { org } : {}),
      ...(person ? { person } : {}),
    });
    const [told] = await Promise.all([begun, engine.call(loadKept, { store: this.#store.name })]);
    return told;
  }

  /** Tells the engine the language and units. */
  async speak(how: Speaking): Promise<void> {
    await this.#engine.call('speak', how);
  }

  /** Shows the office, with the secret of an invite, that the key is ours. */
  async join(link: string, name: string, how: Speaking): Promise<Enrolled> {
    const proof = await this.#engine.call<Parameters<Api['enrol']>[0]>('enrol', {
      secret: secretOf(link),
      name,
    });
    const came = await this.#api.enrol(proof);
    await this.#store.set('token', came.token);
    await this.#be(came.org, came.person, how);
    return came;
  }

  /** Begins an organisation on this device, with no office behind it. */
  async begin(b: Beginning, deeds: Deeds, how: Speaking): Promise<void> {
    const made = await deeds.write<{ org: string; person: string; lines: { line: string; time: number }[] }>(
      'found',
      {
        ...b,
        now: this.#now(),
      },
    );
    await this.#be(made.org, made.person, how);
  }

  async #be(org: string, person: string, how: Speaking): Promise<void> {
    await this.#store.set('org', org);
    await this.#store.set('person', person);
    await this.wake(how);
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
