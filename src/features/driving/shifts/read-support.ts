import { readInterval, readPlace } from './read-interval.js';
import { readMoment } from './read-hours.js';
import { readPieces } from './read-pieces.js';
import type { SupportKind } from '../../../generated/prisma/enums.js';
import { MOST_PIECES, type ShiftSupport } from './shift-document.model.js';
import type { ShiftFrame, SupportRow } from './shift-rows.js';
import { unknownCode } from '../../../common/unknown-code.js';

const fixed = (value: string | null | undefined, decimals: number): string | null =>
  value == null ? null : exact(String(value), decimals);

/** Decimal text padded to all its decimals, so that 3 and 3.000 are equal; without floating point. */
const exact = (value: string, decimals: number): string => {
  const [whole = '0', part = ''] = value.split('.');
  return `${BigInt(whole)}.${part.padEnd(decimals, '0')}`;
};

/** The support of the document, line by line. */
export const readSupport = async (support: ShiftSupport[], frame: ShiftFrame): Promise<SupportRow[]> => {
  const { turns } = frame;
  const rows: SupportRow[] = [];
  for (const [index, line] of support.entries()) {
    if (turns.isOver) await turns.wait();
    rows.push(readLine(line, `/support/${index}`, frame));
  }
  return rows;
};

const readLine = (line: ShiftSupport, pointer: string, frame: ShiftFrame): SupportRow => {
  const unit = readItem(line, pointer, frame);
  const { zones } = frame.context;
  if (!zones.includes(line.zone))
    frame.faults.add(`${pointer}/zone`, line.zone, unknownCode('zone', line.zone, zones));
  if ((line.arcFromDeg == null) !== (line.arcToDeg == null))
    frame.faults.add(`${pointer}/arcToDeg`, line.arcToDeg, 'an arc needs both arcFromDeg and arcToDeg');
  const at = (): { fromMm: number; toMm: number } => {
    const mm = readPlace(line.from, `${pointer}/from`, frame);
    return { fromMm: mm, toMm: mm };
  };
  const { to } = line;
  const place = to == null || to === line.from ? at() : readInterval({ from: line.from, to }, pointer, frame);
  const quantity = exact(String(line.quantity), 3);
  return {
    pointer,
    item: line.item,
    unit,
    zone: line.zone,
    ...place,
    quantity,
    arcFromDeg: fixed(line.arcFromDeg, 2),
    arcToDeg: fixed(line.arcToDeg, 2),
    thicknessMm: fixed(line.thicknessMm, 2),
    installedAt:
      line.installedAt == null
        ? null
        : readMoment(line.installedAt, `${pointer}/installedAt`, `support ${line.item}`, frame),
    remark: line.remark ?? null,
    ...(line.deliveredVolumeM3 == null
      ? {}
      : { deliveredVolumeM3: exact(String(line.deliveredVolumeM3), 3) }),
    ...readPieces(line, { pointer, item: line.item, unit, ...place, quantity }, frame),
  };
};

/** Items delivered with tickets. */
const DELIVERED: SupportKind[] = ['sprayed_concrete', 'cast_concrete', 'cavity_fill'];

const readItem = (
  { item, quantity, thicknessMm, deliveredVolumeM3 }: ShiftSupport,
  pointer: string,
  { context, faults }: ShiftFrame,
): SupportRow['unit'] => {
  const known = Object.hasOwn(context.supportItems, item) ? context.supportItems[item] : undefined;
  if (!known) {
    faults.add(`${pointer}/item`, item, unknownCode('support item', item, context.supportItems));
    return 'nr';
  }
  if (known.unit === 'nr' && !/^\d+(\.0*)?$/.test(String(quantity)))
    faults.add(`${pointer}/quantity`, quantity, `${item} is counted in whole numbers, not ${quantity}`);
  if (known.unit === 'nr' && Number(quantity) > MOST_PIECES)
    faults.add(
      `${pointer}/quantity`,
      quantity,
      `a line has at most ${MOST_PIECES} pieces, not ${quantity}: split it`,
    );
  if (thicknessMm != null && known.kind !== 'sprayed_concrete')
    faults.add(
      `${pointer}/thicknessMm`,
      thicknessMm,
      `${item} is a ${known.kind}: thickness belongs to sprayed concrete`,
    );
  if (deliveredVolumeM3 != null && !DELIVERED.includes(known.kind))
    faults.add(
      `${pointer}/deliveredVolumeM3`,
      deliveredVolumeM3,
      `${item} is a ${known.kind}: a delivered volume belongs to sprayed concrete, cast concrete or cavity fill`,
    );
  else if (deliveredVolumeM3 != null && known.unit !== 'm2' && known.unit !== 'm3')
    faults.add(
      `${pointer}/deliveredVolumeM3`,
      deliveredVolumeM3,
      `${item} is counted in ${known.unit}: it has no delivered volume`,
    );
  return known.unit;
};
