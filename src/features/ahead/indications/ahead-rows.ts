import { type Fault, faulty } from '../../../common/api/problem.js';
import type { DriveFrame } from '../../../common/drive-frame.js';
import { metresText } from '../../../engineering/chainage.js';
import type { EncounterInput } from './encounter.models.js';
import type { IndicationInput, InvestigationInput } from './investigation.models.js';

/** Reads the places of a document, and collects their faults. */
class Places {
  readonly faults: Fault[] = [];

  constructor(private readonly frame: DriveFrame) {}

  fault(pointer: string, value: unknown, detail: string): void {
    this.faults.push({ in: 'body', pointer, value, detail });
  }

  /** Driven millimetres; undefined: outside the drive. */
  at(pointer: string, chainage: string): number | undefined {
    const mm = this.frame.drivenMm(chainage);
    const outside = this.frame.outside(mm);
    if (outside) this.fault(pointer, chainage, outside);
    return outside ? undefined : mm;
  }

  /** A stretch in the direction of the drive; it may be a single place. */
  stretch(base: string, { from, to }: { from: string; to: string }): [number?, number?] {
    const ends: [number?, number?] = [this.at(`${base}/from`, from), this.at(`${base}/to`, to)];
    const [low, high] = ends;
    if (low !== undefined && high !== undefined && high < low)
      this.fault(`${base}/to`, to, `to ${to} lies behind from ${from}: ${this.frame.way}`);
    return ends;
  }

  assertNone(): void {
    if (this.faults.length > 0) throw faulty('invalid', this.faults);
  }
}

const text = (mm: number | undefined): string => metresText(mm ?? 0);

/** An investigation as stored, with its indications. @throws ProblemError invalid with every fault of its content */
export const investigationRows = (input: InvestigationInput, frame: DriveFrame) => {
  const places = new Places(frame);
  const { method, methodName, probeHole } = input;
  if (method === 'other' && methodName == null)
    places.fault('/methodName', methodName, 'method other needs methodName');
  if (method !== 'other' && methodName != null)
    places.fault('/methodName', methodName, `methodName is for method other; the method is ${method}`);
  if (method !== 'probe_hole' && probeHole != null)
    places.fault('/probeHole', probeHole, `probeHole is for method probe_hole; the method is ${method}`);
  const [low, high] = places.stretch('', input);
  if (low !== undefined && low === high)
    places.fault('/to', input.to, `to ${input.to} is the same place as from: a range must have a length`);
  const face = places.at('/face', input.face);
  if (face !== undefined && low !== undefined && low < face)
    places.fault('/from', input.from, `from ${input.from} lies behind the face at ${input.face}`);
  const keys = new Set<string>();
  const indications = input.indications.map((each, index) => {
    const base = `/indications/${index}`;
    if (keys.has(each.key)) places.fault(`${base}/key`, each.key, `key ${each.key} is used twice`);
    keys.add(each.key);
    const [begins, ends] = places.stretch(base, each);
    for (const [name, mm] of [
      ['from', begins],
      ['to', ends],
    ] as const)
      if (
        mm !== undefined &&
        low !== undefined &&
        high !== undefined &&
        low < high &&
        (mm < low || mm > high)
      )
        places.fault(
          `${base}/${name}`,
          each[name],
          `${each[name]} lies outside the range investigated, ${input.from} to ${input.to}`,
        );
    return {
      key: each.key,
      kind: each.kind,
      fromM: text(begins),
      toM: text(ends),
      ...uncertainties(each, (detail) => places.fault(`${base}/uncertaintyM`, each.uncertaintyM, detail)),
      remark: each.remark ?? null,
    };
  });
  places.assertNone();
  return {
    head: {
      method,
      methodName: methodName ?? null,
      probeHole: probeHole ?? null,
      fromM: text(low),
      toM: text(high),
      faceM: text(face),
      madeAt: input.madeAt,
      madeBy: input.madeBy,
      remark: input.remark ?? null,
    },
    indications,
  };
};

const uncertainties = (
  { uncertaintyM, fromUncertaintyM, toUncertaintyM }: IndicationInput,
  fault: (detail: string) => void,
): { fromUncertaintyM: string; toUncertaintyM: string } => {
  if (uncertaintyM != null && (fromUncertaintyM != null || toUncertaintyM != null))
    fault('uncertaintyM applies to both ends: omit it, or fromUncertaintyM and toUncertaintyM');
  return {
    fromUncertaintyM: fromUncertaintyM ?? uncertaintyM ?? '0',
    toUncertaintyM: toUncertaintyM ?? uncertaintyM ?? '0',
  };
};

/** An encounter as stored. @throws ProblemError invalid with every fault of its place */
export const encounterRow = (input: EncounterInput, frame: DriveFrame) => {
  const places = new Places(frame);
  const [low, high] = places.stretch('', input);
  const face = input.face == null ? undefined : places.at('/face', input.face);
  places.assertNone();
  return {
    kind: input.kind,
    fromM: text(low),
    toM: text(high),
    faceM: face === undefined ? null : metresText(face),
    source: input.source,
    metAt: input.metAt,
    metBy: input.metBy,
    remark: input.remark ?? null,
  };
};
