import { Injectable } from '@nestjs/common';
import { matches } from '../../../common/api/if-match.js';
import { ProblemError } from '../../../common/api/problem.js';
import { Database, readRows, type Transaction } from '../../../common/database/database.js';
import { HOLD_HISTORY } from '../../../common/database/history-lock.js';
import { DriveReader, lockedDriveId } from '../../../common/database/drive-reader.service.js';
import { inScope, scope } from '../../../common/database/scope.js';
import {
  AGREE,
  CERTIFY,
  HEAD,
  SEAL_WRITTEN,
  SEALED,
  SOURCE_DIGESTS,
  STANDING_CHANGE,
  WRITE_LINES,
  WRITE_SOURCES,
} from './valuation-sql.js';
import type { LineDifference, Valuation, ValuationHead, ValuationVerification } from './valuation.models.js';
import { type StandingValuation, standingOf, ValuationsService } from './valuations.service.js';

/** The entity tag of a valuation: the seal over its lines, and its state. */
export const etagOf = ({ seal, state }: Pick<ValuationHead, 'seal' | 'state'>): string =>
  `"${seal ?? 'empty'}-${state}"`;

type SealedLine = Record<string, string | number> & { version: string; reference: string; digest: string };

/** Two people sign a valuation, and anybody may measure it again. The database enforces the rules: see valuation_life in the migrations. */
@Injectable()
export class CertificationService {
  constructor(
    private readonly database: Database,
    private readonly drives: DriveReader,
    private readonly valuations: ValuationsService,
  ) {}

  /** The first signature, on the current lines. */
  async agree(drive: string, number: number, ifMatch?: string): Promise<Valuation> {
    await this.database.atomic(async (transaction) => {
      const { id, driveId } = await this.standing(transaction, drive, number);
      const { seal } = await named(transaction, driveId, number, ifMatch);
      if (!seal)
        throw new ProblemError(
          'wrong_state',
          `valuation ${number} has no lines: no bill is in force on its cut-off`,
        );
      await transaction.$executeRawUnsafe(AGREE, id, seal);
    });
    return this.valuations.get(drive, number);
  }

  /** The second signature, by another person, on the lines that were agreed: they are stored and become final. */
  async certify(drive: string, number: number, ifMatch?: string): Promise<Valuation> {
    await this.database.atomic(async (transaction) => {
      const { id, driveId, state, digest } = await this.standing(transaction, drive, number);
      if (ifMatch !== undefined) await named(transaction, driveId, number, ifMatch);
      if (state !== 'agreed')
        throw new ProblemError(
          'wrong_state',
          `valuation ${number} is ${state}: it must be agreed before it is certified`,
        );
      await transaction.$queryRawUnsafe(HOLD_HISTORY);
      const [record] = await readRows<{ change: number }>(transaction, STANDING_CHANGE);
      await transaction.$executeRawUnsafe(WRITE_LINES, id);
      const [sealed] = await readRows<{ seal: string | null }>(transaction, SEAL_WRITTEN, id);
      if (sealed?.seal !== digest)
        throw new ProblemError(
          'wrong_state',
          `the record has changed since valuation ${number} was agreed: it must be agreed again`,
        );
      await transaction.$executeRawUnsafe(WRITE_SOURCES, id);
      await transaction.$executeRawUnsafe(CERTIFY, id, record?.change ?? 0);
    });
    return this.valuations.get(drive, number);
  }

  /** Measures a certified valuation again, from the record at that time. */
  async verify(drive: string, number: number): Promise<ValuationVerification> {
    const { certified, digests, measuredChange } = await this.drives.reading(
      drive,
      async (driveId, statements) => {
        const { state, measuredChange } = await standingOf(statements, drive, driveId, number);
        if (measuredChange === null)
          throw new ProblemError(
            'wrong_state',
            `valuation ${number} is ${state}: only a certified valuation can be verified`,
          );
        return {
          measuredChange,
          certified: await readRows<SealedLine>(statements, SEALED, driveId, number),
          digests: await readRows<SealedLine>(statements, SOURCE_DIGESTS, driveId, number),
        };
      },
    );
    const measured = await inScope({ ...scope(), asOf: { change: measuredChange } }, () =>
      this.drives.read<SealedLine>(drive, SEALED, number),
    );
    const differences = [
      ...differing(certified, measured),
      ...digests.flatMap(({ version, reference, digest }) => {
        const line = certified.find((one) => one.version === version && one.reference === reference);
        return line?.digest === digest
          ? []
          : [{ version, reference, field: 'sources', certified: line?.digest, measured: digest }];
      }),
    ];
    return {
      number,
      measuredChange,
      equal: differences.length === 0,
      lineCount: certified.length,
      differences,
    };
  }

  /** Reads the valuation and locks its drive, so that signatures are serialised. */
  private async standing(
    transaction: Transaction,
    drive: string,
    number: number,
  ): Promise<StandingValuation & { driveId: number }> {
    const driveId = await lockedDriveId(transaction, drive);
    const found = await standingOf(transaction, drive, driveId, number);
    if (found.state === 'certified')
      throw new ProblemError('locked', `valuation ${number} is certified and cannot be changed`);
    return { ...found, driveId };
  }
}

/** The current lines, computed once. @throws ProblemError precondition_failed when they are not those named by If-Match */
const named = async (
  transaction: Transaction,
  driveId: number,
  number: number,
  ifMatch: string | undefined,
): Promise<Pick<ValuationHead, 'seal'>> => {
  const [head] = await readRows(transaction, HEAD, driveId, number);
  if (head && ifMatch !== undefined && !matches(ifMatch, etagOf(head)))
    throw new ProblemError(
      'precondition_failed',
      `valuation ${number} is ${etagOf(head)} now, not ${ifMatch}: read it again before you sign`,
    );
  return head ?? {};
};

/** Compares lines; one that exists on one side only differs by its whole quantity to date. */
const differing = (certified: SealedLine[], measured: SealedLine[]): LineDifference[] => {
  const key = ({ version, reference }: SealedLine): string => `${version} ${reference}`;
  const byKey = (lines: SealedLine[]) => new Map(lines.map((line) => [key(line), line]));
  const [standing, again] = [byKey(certified), byKey(measured)];
  return [...new Map([...standing, ...again])].flatMap(([name, { version, reference }]) => {
    const [one, other] = [standing.get(name), again.get(name)];
    const fields = one && other ? Object.keys(one) : ['toDateQuantity'];
    return fields
      .filter((field) => one?.[field] !== other?.[field])
      .map((field) => ({
        version,
        reference,
        field,
        ...(one && { certified: String(one[field]) }),
        ...(other && { measured: String(other[field]) }),
      }));
  });
};
