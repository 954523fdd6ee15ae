import { Injectable } from '@nestjs/common';
import { notFound, ProblemError } from '../../../common/api/problem.js';
import { ROLES, type Role } from '../../../common/auth/permissions.js';
import { Database, type Transaction } from '../../../common/database/database.js';
import { columnsOf, sql } from '../../../common/database/reading.js';
import { scope } from '../../../common/database/scope.js';
import { actsFor } from '../parties/parties.service.js';
import { Member, type MemberInput } from './member.models.js';

const MEMBERS = sql`select ${columnsOf(Member, 'm', { roles: 'array_agg(m.role order by m.role)', party: 'max(p.code)' })}
  from member m left join party_member a on a.subject = m.subject left join party p on p.id = a.party_id group by m.subject order by m.subject`;

/** Serialises writes of members: if two administrators leave at once, one stays. */
const LOCK = `select id from project where id = $1 for no key update`;

/** Members of a project with their roles. */
@Injectable()
export class MembersService {
  constructor(private readonly database: Database) {}

  async list(): Promise<Member[]> {
    const members = await this.database.read(MEMBERS);
    return members.map(({ party, ...member }) => (party == null ? member : { ...member, party }));
  }

  /** Gives a subject these roles and no others. */
  put(subject: string, { roles, party }: MemberInput): Promise<Member> {
    return this.database.ofProject(async (transaction) => {
      const { projectId } = await held(transaction, subject, roles);
      await transaction.member.deleteMany({ where: { projectId, subject, role: { notIn: roles } } });
      const data = roles.map((role) => ({ projectId, subject, role }));
      await transaction.member.createMany({ data, skipDuplicates: true });
      await actsFor(transaction, subject, party);
      return {
        roles: ROLES.filter((role) => roles.includes(role)), // in the order of the list, so that the ETag agrees
        subject,
        ...(party != null && { party }),
      };
    });
  }

  async remove(subject: string): Promise<void> {
    await this.database.ofProject(async (transaction) => {
      const { projectId, project } = await held(transaction, subject, []);
      const { count } = await transaction.member.deleteMany({ where: { projectId, subject } });
      await actsFor(transaction, subject, undefined);
      if (count === 0) throw notFound(`member ${subject} in project ${project}`);
    });
  }
}

/** Locks the members. @throws ProblemError conflict when the last administrator would leave */
const held = async (
  transaction: Transaction,
  subject: string,
  roles: readonly Role[],
): Promise<{ projectId: number; project: string }> => {
  const { projectId, project, actor } = scope();
  await transaction.$queryRawUnsafe(LOCK, projectId);
  if (actor !== subject || roles.includes('administrator')) return { projectId, project };
  const administrators = await transaction.member.findMany({ where: { projectId, role: 'administrator' } });
  if (administrators.length === 1 && administrators[0]?.subject === subject)
    throw new ProblemError(
      'conflict',
      `${subject} is the only administrator of project ${project}: appoint another one first`,
    );
  return { projectId, project };
};
