// What the office's screens need besides the day at the trees: places, a longer
// history, other people, a lot that ends soon. All of it invented, all of it by deeds.
import type { Said } from '../../state/office/shapes';
import type { Show } from './shows';

interface Scribe {
  at: number;
  do(name: string, input: object): Promise<string>;
  said(kind: string, id: string): Promise<Said[]>;
}

const day = (ms: number): string => new Date(ms).toISOString().slice(0, 10);
const days = 86_400_000;

// Where the invented common lies: open sea, so that it is nobody's ground.
const corner = { lat: 41.2, lon: -50.3 };
const spots: [number, number][] = [[0, 0], [38, 6], [71, 14], [25, 60], [60, 66], [96, 58], [112, 20]]; // prettier-ignore

export async function furnishOffice(
  s: Scribe,
  trees: Record<string, string>,
  label: string,
  now: number,
): Promise<void> {
  const ids = Object.keys(trees).filter((tag) => /^A-\d\d$/.test(tag));
  for (const [i, tag] of ids.entries()) {
    const [east, north] = spots[i] ?? [0, 0];
    const place = {
      lat_e7: Math.round((corner.lat + north / 111_195) * 1e7),
      lon_e7: Math.round((corner.lon + east / 83_700) * 1e7),
    };
    await s.do('tree.update', { tree: trees[tag], place });
  }
  const old = trees['A-06']!;
  for (const [i, loss] of [5, 10, 25].entries())
    await s.do('tree.inspect', {
      tree: old,
      at: s.at - (900 - i * 330) * days,
      canopy_loss: loss,
      pest: 'Agrilus planipennis',
    });
  const wounds: string[] = [];
  for (const [around, made] of [['6 in', -1100], ['17 in', -1100], ['28 in', -730], ['39 in', -730]] as const) wounds.push(await s.do('wound.record', { tree: old, around, height: '11 in', width: '1/4 in', made: day(now + made * days) })); // prettier-ignore
  await s.do('closure.record', { tree: old, hole: wounds[0], state: 'closed' });
  await s.do('closure.record', { tree: old, hole: wounds[1], state: 'closing', width: '2 mm' });
  await s.do('note.add', {
    on: { kind: 'tree', id: old },
    text: 'Swing hung from the lowest limb; taken down with the owner’s leave.',
  });
  const seen = (await s.said('tree', old)).findLast((e) => e.kind === 'condition')!;
  const { v: _v, by: _by, ...body } = seen.body;
  await s.do('amend', {
    of: seen.id,
    after: { ...body, canopy_loss_percent: 30 },
    why: 'Read from the photo again: the south side was left out.',
  });

  const mate = await s.do('person.add', {
    name: 'Wren Calloway (invented)',
    roles: ['applicator'],
    phone: '555 0142',
  });
  await s.do('person.certify', {
    person: mate,
    sort: 'certificate',
    number: 'INV-204',
    authority: 'Invented Board',
    categories: ['trees'],
    from: day(now - 700 * days),
    until: day(now + 24 * days),
  });
  await s.do('person.certify', {
    person: mate,
    sort: 'training',
    authority: 'Invented School',
    from: day(now - 400 * days),
    until: day(now - 30 * days),
  });
  await s.do('person.add', { name: 'Sorrel Finch (invented)', roles: ['trainee'], supervisor: mate });
  await s.do('person.leave', {
    person: await s.do('person.add', { name: 'Alder Marsh (invented)', roles: ['inspector'] }),
  });

  await s.do('label.add', { file: label.replace(/^version:.*$/m, `version: ${day(now - 3 * days)}`) });
  await s.do('lot.add', {
    label: 'demo-a',
    number: 'AC-0977',
    size: '4 mL',
    expires: day(now + 20 * days),
    units: 36,
    supplier: 'Invented Supply',
  });
  const gone = await s.do('lot.add', {
    label: 'demo-a',
    number: 'AC-0831',
    size: '4 mL',
    expires: day(now - 12 * days),
    units: 8,
  });
  await s.do('lot.move', { lot: gone, sort: 'discarded', units: 2, note: 'cracked' });
}

/** A list pasted as a person does it. */
function paste(list: string): void {
  const area = document.querySelector<HTMLTextAreaElement>('textarea');
  if (!area) return;
  area.value = list;
  area.dispatchEvent(new Event('input', { bubbles: true }));
  setTimeout(() => document.querySelector<HTMLButtonElement>('.acts button')?.click(), 60);
}

const at = (id: string, path: string): Show => ({ id: `office-${id}`, path: () => path });

export const officeShows: Show[] = [
  at('trees', '/trees'),
  at('plans', '/plans'),
  { id: 'office-tree', path: (s) => `/trees/${s.trees['A-06']}` },
  { id: 'office-tree-plain', path: (s) => `/trees/${s.trees['A-05']}` },
  at('tree-missing', '/trees/00000000-0000-7000-8000-000000000000'),
  at('map', '/map'),
  { id: 'office-map-set', path: (s) => `/map?place=${s.trees['A-03']}` },
  at('stock', '/stock'),
  at('people', '/people'),
  at('labels', '/labels'),
  at('label-new', '/labels?open=new'),
  {
    id: 'office-import-faults',
    path: () => '/import',
    set: () =>
      paste('tag;species;girth;girth_height\nA-11;white ash;96 in;12 in\nA-12;no such tree;84;12 in'),
    awaits: 'main select',
  },
  {
    id: 'office-import-match',
    path: () => '/import',
    set: () => paste('Number;Kind;girth_in;girth_height\nA-11;white ash;96;12 in\nA-12;white ash;84;12 in'),
    awaits: 'main select',
  },
  at('devices', '/devices'),
  at('journal', '/journal'),
  at('import', '/import'),
  at('export', '/export'),
  {
    id: 'office-offline',
    path: () => '/trees',
    set: ({ app }) => Object.assign(app.sync, { joined: true, online: false }),
  },
];
