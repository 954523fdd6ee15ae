import { Injectable } from '@nestjs/common';
import { faulty } from '../../../common/api/problem.js';
import { DriveReader } from '../../../common/database/drive-reader.service.js';
import { readRows } from '../../../common/database/database.js';
import { goodmanInflow, per100mLPerMin } from '../../../engineering/tunnel-inflow.js';
import { ESTIMATE_CAUTION, type InflowEstimate, type InflowEstimateArgs } from './inflow-estimate.models.js';

const RADIUS = `select (bored_diameter_m / 2)::float8 as "radiusM" from drive where id = $1`;

/** Expected inflow for a conductivity and a head. */
@Injectable()
export class InflowEstimateService {
  constructor(private readonly drives: DriveReader) {}

  /** @throws ProblemError invalid when the head is not above the radius */
  estimate(drive: string, asked: InflowEstimateArgs): Promise<InflowEstimate> {
    return this.drives.reading(drive, async (id, statements) => {
      const [bore] = await readRows<{ radiusM: number }>(statements, RADIUS, id);
      const { headM } = asked;
      const conductivityMPerS = Number(asked.conductivityMPerS);
      const radiusM = asked.radiusM ?? bore?.radiusM ?? 0;
      if (headM <= radiusM) {
        const detail = `headM ${headM} must be above the radius of the drive, ${radiusM} m`;
        throw faulty('invalid', [{ in: 'query', pointer: '/headM', value: headM, detail }]);
      }
      const inflow = goodmanInflow(conductivityMPerS, headM, radiusM);
      return {
        conductivityMPerS,
        headM,
        radiusM,
        inflowM3PerSPerM: Number(inflow.toPrecision(12)),
        per100mLPerMin: per100mLPerMin(inflow).toFixed(2),
        caution: ESTIMATE_CAUTION,
      };
    });
  }
}
