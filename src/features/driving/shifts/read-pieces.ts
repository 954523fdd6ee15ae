import type { ShiftSupport } from './shift-document.model.js';
import type { ShiftFrame, SupportRow } from './shift-rows.js';

type Line = Pick<SupportRow, 'pointer' | 'item' | 'unit' | 'fromMm' | 'toMm' | 'quantity'>;
type Note = (value: unknown, detail: string) => void;

/** The positions of the pieces of a line, if the document gives them: along the drive and on the ring. */
export const readPieces = (
  { positions, arcPositionsDeg, ...line }: ShiftSupport,
  row: Line,
  frame: ShiftFrame,
): Pick<SupportRow, 'positionsMm' | 'arcPositionsDeg'> => ({
  ...(positions == null ? {} : { positionsMm: readPositions(positions, line, row, frame) }),
  ...(arcPositionsDeg == null ? {} : { arcPositionsDeg: readArc(arcPositionsDeg, line, row, frame) }),
});

/** Checks that apply to both lists: they are for counted items, and give a position for each piece. */
const noteForm = (list: unknown[], name: string, { item, unit, quantity }: Line, note: Note): void => {
  const pieces = Number(quantity);
  if (unit !== 'nr') note(list, `${item} is measured in ${unit}: ${name} belong to items counted in nr`);
  else if (list.length !== pieces)
    note(list, `the line has ${pieces} pieces and ${list.length} ${name}: there must be one for each piece`);
};

const readPositions = (
  positions: string[],
  { from, to }: Omit<ShiftSupport, 'positions' | 'arcPositionsDeg'>,
  row: Line,
  frame: ShiftFrame,
): number[] => {
  const { pointer, fromMm, toMm } = row;
  const add =
    (place: string): Note =>
    (value, detail) => {
      frame.faults.add(place, value, detail);
    };
  const note = add(`${pointer}/positions`);
  noteForm(positions, 'positions', row, note);
  if (fromMm === toMm) note(positions, `the pieces of a line at one chainage must be at ${from}`);
  let before = fromMm;
  return positions.map((position, index) => {
    const place = `${pointer}/positions/${index}`;
    const mm = frame.context.frame.drivenMm(position);
    if (fromMm < toMm && mm === toMm)
      add(place)(position, `${position} is where the line ends: end the line beyond its last piece`);
    else if (fromMm < toMm && (mm < fromMm || mm > toMm))
      add(place)(position, `${position} is not on the line, from ${from} to before ${String(to)}`);
    else if (mm < before)
      add(place)(
        position,
        `${position} comes before ${String(positions[index - 1])}: positions must follow the direction of the drive`,
      );
    before = mm;
    return mm;
  });
};

const readArc = (
  places: string[],
  { arcFromDeg, arcToDeg }: Omit<ShiftSupport, 'positions' | 'arcPositionsDeg'>,
  row: Line,
  { faults }: ShiftFrame,
): string[] => {
  const pointer = `${row.pointer}/arcPositionsDeg`;
  noteForm(places, 'arcPositionsDeg', row, (value, detail) => {
    faults.add(pointer, value, detail);
  });
  if (arcFromDeg != null && arcToDeg != null)
    for (const [index, place] of places.entries())
      if (!isOnArc(place, arcFromDeg, arcToDeg))
        faults.add(
          `${pointer}/${index}`,
          place,
          `${place}° does not lie on the arc of the line, clockwise from ${arcFromDeg}° to ${arcToDeg}°`,
        );
  return places.map((place) => hundredths(place).toFixed(0).padStart(3, '0').replace(/(..)$/, '.$1'));
};

/** Degrees with at most two decimals as integer hundredths, exactly. */
const hundredths = (degrees: string): number => Math.round(Number(degrees) * 100);

const isOnArc = (place: string, from: string, to: string): boolean => {
  const turn = (hundredths(to) - hundredths(from) + 36_000) % 36_000;
  const arc = turn === 0 && hundredths(to) > hundredths(from) ? 36_000 : turn;
  return (hundredths(place) - hundredths(from) + 72_000) % 36_000 <= arc;
};
