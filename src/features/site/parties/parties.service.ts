import { Injectable } from '@nestjs/common';
import { faulty, notFound, ProblemError } from '../../../common/api/problem.js';
import { Database, readRows, type Transaction } from '../../../common/database/database.js';
import { columnsOf, sql } from '../../../common/database/reading.js';
import { scope } from '../../../common/database/scope.js';
import { codesOf, unknownCode } from '../../../common/unknown-code.js';
import type { PartyKind, PartySide } from '../../../generated/prisma/enums.js';
import { Party, type PartyInput } from './party.models.js';

const PARTIES = sql`select ${columnsOf(Party)} from party order by code`;

const PUT = `insert into party (code, name, kind, side) values ($1, $2, $3::party_kind, $4::party_side)
  on conflict (project_id, code) do update set name = excluded.name, kind = excluded.kind, side = excluded.side`;

const ACTING = `select m.subject from party_member m join party p on p.id = m.party_id where p.code = $1 order by m.subject limit 1`;

const REMOVE = `delete from party where code = $1 returning id`;

const ASSIGN = `insert into party_member (subject, party_id) select $1::text, id from party where code = $2
  on conflict (project_id, subject) do update set party_id = excluded.party_id returning id`;

const SIDES: Record<PartyKind, PartySide | undefined> = {
  contractor: 'contractor',
  client: 'client',
  supervisor: 'client',
  designer: undefined,
};

/** The parties of a project. What takes two signatures is signed for both sides: see hold_two_sides in the migrations. */
@Injectable()
export class PartiesService {
  constructor(private readonly database: Database) {}

  list(): Promise<Party[]> {
    return this.database.read(PARTIES);
  }

  async put(code: string, { name, kind, side }: PartyInput): Promise<Party> {
    const fixed = SIDES[kind];
    if (fixed && side != null && side !== fixed) {
      const detail = `side ${side} does not fit a ${kind}, who signs on the side of the ${fixed}`;
      throw faulty('invalid', [{ in: 'body', pointer: '/side', value: side, detail }]);
    }
    const party = { code, name, kind, side: fixed ?? side ?? 'contractor' };
    await this.database.ofProject((transaction) =>
      transaction.$executeRawUnsafe(PUT, code, name, kind, party.side),
    );
    return party;
  }

  async remove(code: string): Promise<void> {
    await this.database.ofProject(async (transaction) => {
      const [acting] = await readRows<{ subject: string }>(transaction, ACTING, code);
      if (acting)
        throw new ProblemError(
          'in_use',
          `${acting.subject} acts for party ${code}: the party cannot be removed`,
        );
      const gone = await transaction.$queryRawUnsafe<{ id: number }[]>(REMOVE, code);
      if (gone.length === 0) throw notFound(`party ${code} in project ${scope().project}`);
    });
  }
}

/** Makes a subject act for a party; absent: for none. @throws ProblemError invalid when the party does not exist */
export const actsFor = async (
  transaction: Transaction,
  subject: string,
  party: string | undefined | null,
): Promise<void> => {
  if (party == null) {
    await transaction.$executeRawUnsafe('delete from party_member where subject = $1', subject);
    return;
  }
  const assigned = await transaction.$queryRawUnsafe<{ id: number }[]>(ASSIGN, subject, party);
  if (assigned.length > 0) return;
  const detail = unknownCode('party', party, await codesOf(transaction, 'party'));
  throw faulty('invalid', [{ in: 'body', pointer: '/party', value: party, detail }]);
};
