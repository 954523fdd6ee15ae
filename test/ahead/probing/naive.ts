/** A second implementation of the cover, millimetre by millimetre, from the data that were put. */

export interface NaiveHole {
  /** driven [mm] */
  collar: number;
  reach: number;
  length: number;
  planned: number | null;
  givenUp: boolean;
  /** null: not noted */
  position: number | null;
  hasTime: boolean;
  lookOut: number;
}

export interface NaiveRequirement {
  /** driven [mm]; null: applies where no other does */
  span: [number, number] | null;
  holes: number;
  sectors: [number, number][];
  overlap: number;
  least: number | null;
}

export interface NaiveSite {
  face: number;
  end: number;
  holes: NaiveHole[];
  requirements: NaiveRequirement[];
}

/** Walks clockwise in degrees from the beginning of the sector. */
const isIn = (position: number, [from, to]: [number, number]): boolean => {
  for (let degree = from % 360, steps = 0; steps <= 360; degree = (degree + 1) % 360, steps += 1) {
    if (degree === position % 360) return true;
    if (degree === to % 360 && steps > 0) return from % 360 === to % 360;
    if (degree === to % 360 && from % 360 !== to % 360) return false;
  }
  return false;
};

/** What is required at a place; the requirement of the last place of the drive applies beyond it. */
const requiredAt = ({ requirements, end }: NaiveSite, mm: number): NaiveRequirement | undefined => {
  const place = Math.min(mm, end - 1);
  return (
    requirements.find(({ span }) => span && span[0] <= place && place < span[1]) ??
    requirements.find(({ span }) => span === null)
  );
};

const isCovered = (site: NaiveSite, mm: number): boolean => {
  const required = requiredAt(site, mm);
  if (!required) return false;
  const over = site.holes.filter(
    ({ collar, reach, length, planned, givenUp, position, hasTime, lookOut }) =>
      collar <= mm &&
      mm < reach &&
      position !== null &&
      hasTime &&
      lookOut <= 12 &&
      (required.least === null ||
        length >= required.least ||
        (givenUp && planned !== null && planned >= required.least)),
  );
  return (
    over.length >= required.holes &&
    required.sectors.every((sector) => over.some(({ position }) => isIn(position ?? NaN, sector)))
  );
};

/** How far the cover reaches, and how far the face may advance: each millimetre is bored only if the overlap is left after it. [mm] */
export const naiveCover = (site: NaiveSite, most: number): { cover: number; permitted: number } => {
  let to = site.face;
  while (to < most && isCovered(site, to)) to += 1;
  let face = site.face;
  while (face < site.end && to - (face + 1) >= (requiredAt(site, face)?.overlap ?? 0)) face += 1;
  return { cover: to - site.face, permitted: face - site.face };
};
