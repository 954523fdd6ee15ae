import type { HatchName } from '../../../../common/drawing/hatches.js';
import { areaSample, type Panel, THIN } from '../panel.js';
import { endsOf, type Ground } from '../strip-data.js';
import type { Track } from './track.js';

/** Rock names with their hatches; the first that occurs in a lithology's name applies. */
const ROCKS: [RegExp, HatchName][] = [
  [/fault|crush|catacla|mylonit|gouge|shear/, 'fault_rock'],
  [/breccia/, 'breccia'],
  [/(granit|ortho|augen).*gneiss|gneiss.*granit/, 'granitic_gneiss'],
  [/gneiss|migmatit/, 'gneiss'],
  [/schist|phyllit/, 'schist'],
  [/slate/, 'slate'],
  [/quartzite/, 'quartzite'],
  [/marble/, 'marble'],
  [/amphibolit|gabbro|peridotit|serpentin|dolerit|diabas/, 'mafic'],
  [/granit|granodiorit|diorit|tonalit|syenit|aplit|pegmatit/, 'plutonic'],
  [/basalt|andesit|rhyolit|dacit|porphyr|tuff|lava/, 'volcanic'],
  [/dolom/, 'dolomite'],
  [/marl/, 'marl'],
  [/limestone|chalk|calcar/, 'limestone'],
  [/conglomerat/, 'conglomerate'],
  [/sandstone|greywacke|arkose/, 'sandstone'],
  [/siltstone/, 'siltstone'],
  [/mudstone|claystone|shale|argillit/, 'mudstone'],
  [/anhydrit|gypsum|salt|evaporit/, 'evaporite'],
  [/moraine|till|gravel|sand|clay|silt|soil|alluvi/, 'soil'],
];
const OTHERS: HatchName[] = ['rising', 'falling', 'level', 'upright', 'dotted', 'crossed'];

interface RockLook {
  hatch: HatchName;
  /** Initials, for where the full name does not fit. */
  code: string;
}

/** The look of each lithology of the interval; equal initials are numbered. */
const rockLooks = (names: string[]): Map<string, RockLook> => {
  const looks = new Map<string, RockLook>();
  let others = 0;
  for (const name of [...new Set(names)].toSorted()) {
    const known = ROCKS.find(([words]) => words.test(name.toLowerCase()))?.[1];
    const hatch = known ?? OTHERS[others++ % OTHERS.length] ?? 'rising';
    const words = name.split(/[\s,/-]+/).filter((word) => word !== '');
    const initials =
      words
        .map((word) => word[0]?.toLowerCase() ?? '')
        .join('')
        .slice(0, 3) || '?';
    const alike = [...looks.values()].filter(({ code }) => code.replace(/\d+$/, '') === initials).length;
    looks.set(name, { hatch, code: alike === 0 ? initials : `${initials}${alike + 1}` });
  }
  return looks;
};

interface Piece {
  ends: [number, number];
  of: Ground;
}

/** Merges adjacent pieces with the same content. */
const joined = (ground: Ground[], same: (one: Ground, other: Ground) => boolean): Piece[] => {
  const pieces: Piece[] = [];
  for (const each of ground.toSorted((a, b) => endsOf(a)[0] - endsOf(b)[0])) {
    const last = pieces.at(-1);
    const ends = endsOf(each);
    if (last && last.ends[1] === ends[0] && same(last.of, each)) last.ends[1] = ends[1];
    else pieces.push({ ends, of: each });
  }
  return pieces;
};

/** Spacing at which a label is repeated in a long piece. [mm] */
const AGAIN = 110;

const labels = (
  panel: Panel,
  texts: string[],
  [left, right]: [number, number],
  rows: [number, number],
): (string | undefined)[] => {
  const times = Math.max(1, Math.round((right - left) / AGAIN));
  const part = (right - left) / times;
  return Array.from({ length: times }, (_, time) =>
    panel.label(texts, [left + time * part, left + (time + 1) * part], rows, {
      size: 2.1,
      isOnHatch: true,
    }),
  );
};

export const LITHOLOGY: Track = {
  name: 'lithology',
  title: 'Lithology',
  under: 'as noted by the shifts',
  about: 'Lithology noted by the shifts, by hatch and name',
  height: () => 11,
  rows: ['ground'],
  views: ['ground_strip'],
  draw: (panel, { rows }) => {
    const looks = rockLooks(rows.ground.flatMap(({ lithology }) => lithology ?? []));
    for (const { ends, of } of joined(rows.ground, (one, other) => one.lithology === other.lithology)) {
      const span = panel.span(ends);
      if (!span || of.lithology === null) continue;
      const look = looks.get(of.lithology);
      if (!look) continue;
      panel.rect(span, [panel.top, panel.bottom], { hatch: look.hatch, pen: THIN });
      labels(panel, [of.lithology, look.code], span, [panel.top, panel.bottom]);
      panel.explain(
        `rock ${of.lithology}`,
        `${look.code}: ${of.lithology}`,
        areaSample({ hatch: look.hatch }),
      );
    }
  },
};

const TINTS = ['#e3eef7', '#fbead0', '#d9efe6', '#faf6cf', '#f7ddcc', '#f1dde8', '#e8e8e8'];
const CLASS_HATCHES: (HatchName | undefined)[] = [
  undefined,
  'rising',
  'dotted',
  'falling',
  'level',
  'upright',
  'crossed',
];

const sameClass = (one: Ground, other: Ground): boolean =>
  one.groundClass === other.groundClass && one.noted === other.noted && one.contested === other.contested;

const classWords = ({ groundClass, noted, contested, contestedState }: Ground): string[] => {
  const governing = groundClass ?? '–';
  const more = [
    ...(noted !== null && noted !== groundClass ? [`noted ${noted}`] : []),
    ...(contested !== null ? [`${contestedState} ${contested}`] : []),
  ];
  const marked = more.length > 0 ? `${governing}*` : governing;
  return more.length > 0 ? [`${governing} (${more.join(', ')})`, marked] : [marked];
};

export const CLASS: Track = {
  name: 'class',
  title: 'Ground class',
  under: 'governing',
  about: 'Governing ground class, with deviating notes and proposed or disputed classes',
  height: () => 8,
  rows: ['ground'],
  views: ['ground_strip'],
  draw: (panel, drawn) => {
    for (const { ends, of } of joined(drawn.rows.ground, sameClass)) {
      const span = panel.span(ends);
      if (!span || (of.groundClass === null && of.contested === null)) continue;
      const place = of.place ?? -1;
      const look =
        place < 0
          ? {}
          : { fill: TINTS[place % TINTS.length], hatch: CLASS_HATCHES[place % CLASS_HATCHES.length] };
      panel.rect(span, [panel.top, panel.bottom], { ...look, pen: THIN });
      const words = classWords(of);
      const written = labels(panel, words, span, [panel.top, panel.bottom]);
      if (of.groundClass !== null)
        panel.explain(`class ${of.groundClass}`, `class ${of.groundClass}`, areaSample(look));
      if (written.some((text) => text?.endsWith('*')))
        panel.explain('class *', '*: noted differently, or decision not agreed', () => []);
    }
  },
};
