import { boringRate, IMPOSSIBLE_RATE_M_PER_H } from '../../../engineering/boring.js';

interface Bored {
  fromMm: number;
  toMm: number;
  startedAt: number | null;
  endedAt: number | null;
}

/** Why a length cannot have been bored in its time; undefined: it can, or its faults have already been reported. */
export const impossibleRate = ({ fromMm, toMm, startedAt, endedAt }: Bored): string | undefined => {
  if (startedAt === null || endedAt === null || endedAt <= startedAt || toMm <= fromMm) return undefined;
  const rate = boringRate(toMm - fromMm, endedAt - startedAt);
  return rate > IMPOSSIBLE_RATE_M_PER_H
    ? `${(toMm - fromMm) / 1000} m in ${Number(((endedAt - startedAt) / 60_000).toFixed(2))} min is ${Number(rate.toFixed(1))} m/h: no machine bores more than ${IMPOSSIBLE_RATE_M_PER_H} m/h`
    : undefined;
};
