import { takeGivenBack } from '../../../src/common/api/given-back.js';
import { isObject } from '../../../src/common/api/is-object.js';
import { openApiOf } from '../../../src/common/api/openapi.js';
import { type KindPut, Kinds } from '../../../src/features/site/imports/kinds.service.js';
import { LOG, Q_INPUT, RMR_INPUT } from '../../ground/ground-logs/logs.js';
import type { Examples } from '../../api/put-examples.js';

// Records whose every field is filled, as far as the PUT of each takes it: fields are set one by one, and those that a refusal
// names beside them together.

export type Json = Record<string, unknown>;
type Path = (string | number)[];

/** A property as the OpenAPI document declares it. */
interface Declared {
  type?: string | string[];
  format?: string;
  pattern?: string;
  enum?: unknown[];
  example?: unknown;
  items?: Declared;
  $ref?: string;
  allOf?: Declared[];
  anyOf?: Declared[];
  properties?: Record<string, Declared>;
  required?: string[];
}

interface Place {
  path: Path;
  declared: Declared;
}

/** Texts that spreadsheets and readers of CSV may misread. */
const TEXTS = [
  '=1+1;"a",\n2',
  '+1,5\n@x',
  '-2;"',
  "@a'b",
  "'=q",
  "'",
  '007',
  '1.10',
  'true',
  '2027-03-01',
  '–',
  '" "',
];

export const isJson = (value: unknown): value is Json => isObject(value);

const at = (value: unknown, path: Path): unknown =>
  path.reduce<unknown>((found, step) => (found as Json | undefined)?.[step], value);

const withAll = (value: Json, all: [path: Path, to: unknown][]): Json => {
  const copy = structuredClone(value);
  for (const [path, to] of all) (at(copy, path.slice(0, -1)) as Json)[String(path.at(-1))] = to;
  return copy;
};

class Filler {
  private readonly schemas: Record<string, Declared>;
  private texts = 0;

  constructor(private readonly site: Examples) {
    this.schemas = (openApiOf(site.app.app).components?.schemas ?? {}) as Record<string, Declared>;
  }

  private whole(declared: Declared): Declared {
    const of = [declared, ...(declared.allOf ?? []), ...(declared.anyOf ?? [])].find(
      ({ $ref }) => $ref,
    )?.$ref;
    const { type = this.schemas[of?.split('/').at(-1) ?? '']?.type } = declared;
    return {
      ...this.schemas[of?.split('/').at(-1) ?? ''],
      ...declared,
      type: Array.isArray(type) ? type.find((each) => each !== 'null') : type,
    };
  }

  private placesIn(declared: Declared, value: unknown, path: Path = []): Place[] {
    return Object.entries(declared.properties ?? {}).flatMap(([name, own]): Place[] => {
      const place = [...path, name];
      const property = this.whole(own);
      const item = property.items && this.whole(property.items);
      const stands = at(value, place);
      if (item?.properties && Array.isArray(stands))
        return stands.slice(0, 2).flatMap((_, index) => this.placesIn(item, value, [...place, index]));
      if (property.properties && isJson(stands)) return this.placesIn(property, value, place);
      return [{ path: place, declared: property }];
    });
  }

  /** Values to try, the most unusual first. */
  private valuesOf(declared: Declared): unknown[] {
    const { type, format, enum: codes, example } = declared;
    if (declared.properties)
      return [
        Object.fromEntries(
          Object.entries(declared.properties).map(([name, own]) => [
            name,
            this.valuesOf(this.whole(own)).at(-1),
          ]),
        ),
      ];
    const shown = example === undefined ? [] : [example];
    if (codes) return codes;
    if (type === 'boolean') return [true];
    if (type === 'integer') return [...shown, 1];
    if (type === 'number') return [...shown, 2.5];
    if (type === 'array') return [[this.valuesOf(this.whole(declared.items ?? {})).at(-1)]];
    if (format === 'decimal') return ['-1.5', ...shown, '1', '60'];
    if (format === 'date') return ['2027-03-02'];
    if (format === 'date-time') return ['2027-03-02T10:00:00Z'];
    if (format === 'chainage') return ['1+210'];
    this.texts += 1;
    return [TEXTS[this.texts % TEXTS.length], ...shown, 'X-1'];
  }

  /** Fills a record, and a copy of it where a second one may exist. */
  async fill({ input, answer }: KindPut, address: string): Promise<void> {
    const { body } = await this.site.app.http.get(address);
    const record = body as Json;
    takeGivenBack(record, input, answer);
    let filled = record;
    let to = address;
    const copy = await this.site.app.http.put(`${address}-2`).send(record);
    if (copy.status < 300) to = `${address}-2`;
    /** @returns why it is refused; undefined: it is taken */
    const put = async (next: Json): Promise<string | undefined> => {
      const { headers } = await this.site.app.http.get(to);
      const { status, body: said } = await this.site.app.http
        .put(to)
        .set('if-match', String(headers['etag']))
        .send(next);
      if (status >= 300) return String(said.errors?.[0]?.detail ?? said.detail);
      filled = next;
      return undefined;
    };
    const schema = this.schemas[input.name] ?? {};
    for (const { path, declared } of this.placesIn(schema, filled)) {
      const { type, format, pattern, enum: codes } = declared;
      const isText = type === 'string' && !codes && format === undefined && pattern === undefined;
      if (at(filled, path) != null && !isText && format !== 'decimal') continue;
      const [unusual, ...usual] = this.valuesOf(declared);
      for (const value of at(filled, path) == null ? [unusual, ...usual] : [unusual]) {
        const refusal = await put(withAll(filled, [[path, value]]));
        if (refusal === undefined || (await this.beside(path, value, refusal, filled, schema, put))) break;
      }
    }
  }

  /** Sets a field together with an absent one beside it that its refusal names. */
  private async beside(
    path: Path,
    value: unknown,
    refusal: string,
    record: Json,
    schema: Declared,
    put: (next: Json) => Promise<string | undefined>,
  ): Promise<boolean> {
    const around = path.slice(0, -1).join('/');
    const named = this.placesIn(schema, record).filter(
      ({ path: other }) =>
        other.slice(0, -1).join('/') === around &&
        other.at(-1) !== path.at(-1) &&
        new RegExp(`\\b${String(other.at(-1))}\\b`).test(refusal) &&
        at(record, other) == null,
    );
    for (const { path: other, declared } of named)
      for (const along of this.valuesOf(declared))
        if (
          (await put(
            withAll(record, [
              [path, value],
              [other, along],
            ]),
          )) === undefined
        )
          return true;
    return false;
  }
}

const P = '/v1/projects/P1';
const D = `${P}/drives/N`;
const AT = '2027-03-03T08:00:00Z';
const SPACED = { spacingM: '1.5', toleranceM: '0.1', aroundSpacingM: '1.2', aroundToleranceM: '0.2' };
const ITEMS = [
  { item: 'BOLT', zone: 'L1', ...SPACED, fromDeg: '300', toDeg: '60' },
  { item: 'BOLT', zone: 'L2', spacingM: '2', piecesPerRow: 4 },
  { item: 'PLATE', zone: 'L1', quantityPerM: '0.123456', tolerancePercent: '2.5' },
];
const LATER = { validFrom: '2028-01-01', revision: '=B', edition: '-7;' };
const PLACE = { from: '1+203.4', to: '1+204' };
const BORING = { thrustKn: 9000, torqueKnm: 900.5, rotationRpm: 6.25, penetrationMmPerRev: 7.5 };

/** Fields that belong to other kinds of bolt, place or method than those of the examples; a second revision, a second calendar. */
const MORE: Record<string, object> = {
  [`${P}/support-items/MESH`]: {
    ...{ kind: 'mesh', unit: 'm2', description: '+Mesh' },
    ...{ sheetLengthM: '5', sheetWidthM: '2.4', lapPercent: '12.5', massKgPerM2: '4' },
  },
  [`${P}/support-items/RIB`]: { kind: 'rib', unit: 'nr', description: '@Rib', centreLineDiameterM: '6.2' },
  [`${P}/support-items/SEG`]: { kind: 'invert_segment', unit: 'nr', description: '-Segment', massKg: '4000' },
  [`${P}/support-items/SPRAY`]: {
    ...{ kind: 'sprayed_concrete', unit: 'm3', description: "'=Sprayed" },
    ...{ theoreticalThicknessMm: '80', reboundPercent: '7', overbreakPercent: '20' },
  },
  [`${P}/closures/N2`]: {
    name: '=1',
    fromDate: '2027-05-01',
    toDate: '2027-05-02',
    planned: false,
    drive: 'N',
  },
  [`${P}/calendars/2030-01-01`]: {
    shifts: [
      { name: 'day', startTime: '06:00', endTime: '14:00', weekdays: [1, 2] },
      { name: '007', startTime: '14:00', endTime: '22:00', weekdays: [7] },
    ],
  },
  [`${P}/ground-classes/A/standard-support`]: { ...LATER, items: ITEMS },
  [`${D}/design-sections/DS1`]: { ...LATER, from: '1+300', to: '1+350', items: ITEMS },
  [`${D}/shifts/2027-03-03/day`]: {
    state: 'draft',
    strokes: [
      { number: 3, borings: [{ ...PLACE, startedAt: AT, endedAt: '2027-03-03T09:00:00Z', ...BORING }] },
    ],
    support: [
      { item: 'SPRAY', zone: 'L1', ...PLACE, quantity: '2', thicknessMm: '90', deliveredVolumeM3: '2.5' },
      {
        ...{ item: 'BOLT', zone: 'L2', ...PLACE, quantity: '2', remark: '-1' },
        ...{ positions: ['1+203.5', '1+203.9'], arcPositionsDeg: ['10', '350'] },
      },
    ],
  },
  [`${D}/ground-logs/G2`]: {
    ...LOG,
    from: '1+201',
    to: '1+202',
    faceChainage: '1+202',
    q: { ...Q_INPUT, range: { rqdMinPercent: 60, rqdMaxPercent: 90 } },
    rmr: RMR_INPUT,
  },
  [`${D}/ground-logs/G3`]: {
    ...{
      from: '1+202',
      to: '1+203',
      mappedBy: 'Ada',
      mappedAt: AT,
      ucsMpa: 0.1234567890123456,
      rqdPercent: 80,
    },
    ...{ jointSpacingM: 1.1e-3, waterState: 'damp' },
    rmr: {
      ...{ ...RMR_INPUT, condition: undefined },
      detailedCondition: {
        ...{ persistenceM: 2, apertureMm: 0.5, roughness: 'rough', infilling: 'none' },
        weathering: 'fresh',
      },
    },
  },
  [`${D}/discontinuities/J3`]: {
    ...{ chainage: '1+201', type: 'joint', dipDeg: '60', dipDirectionDeg: '120' },
    ...{ infilling: 'hard', infillingMaterial: '=Calcite;"' },
  },
  [`${D}/probe-holes/PH3`]: {
    ...{ collar: '1+203', lookOutDeg: '5', lengthM: '20', drilledAt: '2027-03-02T20:00:00Z' },
    remark: '@1',
  },
  [`${D}/investigations/RS3`]: {
    ...{ method: 'probe_hole', probeHole: 'PH1', from: '1+202', to: '1+220', face: '1+202', madeAt: AT },
    ...{
      madeBy: 'Ada',
      indications: [
        { key: 'R1', kind: 'void', from: '1+210', to: '1+211', fromUncertaintyM: '1', toUncertaintyM: '2' },
      ],
    },
  },
  [`${D}/investigations/RS4`]: {
    ...{ method: 'other', methodName: '=Radar', from: '1+202', to: '1+220', face: '1+202', madeAt: AT },
    ...{ madeBy: 'Ada', indications: [] },
  },
  [`${D}/inflow-measurements/W2`]: {
    ...{ place: 'hole', hole: 'PH1', method: 'bucket', measuredAt: AT, flowLPerMin: '1.125' },
  },
  [`${D}/inflow-measurements/W3`]: {
    ...{ place: 'portal', method: 'weir', measuredAt: AT, flowLPerMin: '9', serviceWaterLPerMin: '2' },
  },
  [`${D}/grouting-rounds/GR3`]: {
    ...{ purpose: 'post_grouting', state: 'under_way', from: '1+201', to: '1+202', startedAt: AT },
    triggerMeasurement: 'W1',
  },
};

const LISTED: Partial<Record<string, string>> = { 'standard-support': 'standard-support' };

/** Fills the first record of each list of the examples, and adds others. */
export const fillExamples = async (site: Examples): Promise<void> => {
  const refused: string[] = [];
  for (const [address, body] of Object.entries(MORE)) {
    const { status, text } = await site.app.http.put(address).send(body);
    if (status >= 300) refused.push(`${address}: ${text}`);
  }
  expect(refused).toEqual([]);
  const filler = new Filler(site);
  const seen = new Set<string>();
  for (const { kind, together, records, ...own } of site.app.app.get(Kinds, { strict: false }).all()) {
    if (together || kind === 'calendars') continue;
    const put = records ?? (own as KindPut);
    const path = put.put.path.replace(':project', 'P1').replace(':drive', 'N');
    if (seen.has(path)) continue;
    seen.add(path);
    const list =
      LISTED[kind] === undefined ? path.replace(/(\/:\w+)+$/, '') : `/v1/projects/P1/${LISTED[kind]}`;
    const { body } = await site.app.http.get(list);
    const [entry] = (isJson(body) && 'items' in body ? body['items'] : body) as Json[];
    if (!entry) throw new Error(`${kind}: the examples have none`);
    const named = ({ param, heading }: KindPut['keys'][number]): string =>
      encodeURIComponent(String(entry[heading] ?? entry[param] ?? entry['name']));
    await filler.fill(
      put,
      put.keys.reduce((so, key) => so.replace(`:${key.param}`, named(key)), path),
    );
  }
};
