import type { AsBuilt } from '../features/outputs/record/as-built.models.js';
import { DRIVE_PATH } from './addresses.js';
import type { DemoClient } from './client.js';
import { LOGGED } from './decided.js';
import { section, wrapped } from './section.js';
import { table } from './table.js';

interface Entry {
  register: string;
  which: string;
  from: string;
  to: string;
  says: string;
}

const entriesOf = (record: AsBuilt): Entry[] => [
  ...record.classDecisions.map(({ number, from, to, groundClass, state }) => ({
    register: 'class decision',
    which: String(number),
    from,
    to,
    says: `${groundClass} ${state}`,
  })),
  ...record.groundLogs.map(({ name, from, to, q, rmr, mappedFor, mappedPlace }) => ({
    register: 'ground log',
    which: name,
    from,
    to,
    says: `${mappedPlace} for the ${mappedFor ?? ''}: Q ${q?.q.toFixed(3) ?? ''}, RMR ${rmr?.rmr ?? ''}`,
  })),
  ...record.probeHoles.map(({ name, collar, reach, positionDeg, lookOutDeg }) => ({
    register: 'probe hole',
    which: name,
    from: collar,
    to: reach,
    says: `at ${positionDeg ?? ''}°, look-out ${lookOutDeg}°`,
  })),
  ...record.indications.map(({ investigation, key, from, to, kind, outcome }) => ({
    register: 'indication',
    which: `${investigation} ${key}`,
    from,
    to,
    says: `${kind}: ${outcome}`,
  })),
  ...record.holdPoints.map(({ code, chainage, isReleased, releases }) => ({
    register: 'hold point',
    which: code,
    from: chainage,
    to: chainage,
    says: isReleased ? `released: ${releases[0]?.evidence ?? ''}` : 'not released',
  })),
  ...record.supportRequired.map(({ item, zone, from, to, required, installed, unit, state }) => ({
    register: 'required support',
    which: `${item ?? ''} ${zone ?? ''}`,
    from,
    to,
    says: `${Number(required)} ${unit ?? ''} required, ${Number(installed)} installed: ${state}`,
  })),
];

/** The as-built record where the parties mapped and decided, with all its registers. */
export const registerAnswer = async (client: DemoClient): Promise<string> => {
  const [path, query] = [`${DRIVE_PATH}/as-built`, { ...LOGGED }];
  const record = await client.get<AsBuilt>(path, query);
  const { strokes, ground, support, discontinuities, overbreak, attachments } = record;
  return section(
    `AS BUILT WITH ITS REGISTERS: ${record.from} to ${record.to}`,
    client.url(path, query),
    table(entriesOf(record), [
      { title: 'register', value: ({ register }) => register },
      { title: 'which', value: ({ which }) => which },
      { title: 'from', value: ({ from }) => from },
      { title: 'to', value: ({ to }) => to },
      { title: 'says', value: ({ says }) => says },
    ]),
    '',
    `  besides ${strokes.length} strokes, ${ground.length} notes of ground, ${support.length} lines of support; ${discontinuities.length} discontinuities, ${overbreak.length} overbreak, ${attachments.length} attachments`,
    '',
    wrapped(record.caution),
  );
};
