import { ObjectType } from '@nestjs/graphql';
import { registerEnum } from '../../../common/api/enums.js';
import { CodeField, EnumField, TextField } from '../../../common/api/fields.js';
import { PartyKind, PartySide } from '../../../generated/prisma/enums.js';

registerEnum(PartyKind, {
  name: 'PartyKind',
  description: 'contractor; client; supervisor, who acts for the client; designer.',
  values: {
    contractor: 'Contractor',
    client: 'Client',
    supervisor: 'Supervisor, who acts for the client',
    designer: 'Designer',
  },
});

registerEnum(PartySide, {
  name: 'PartySide',
  description: 'On which side of the contract a party signs: client and supervisor are one side.',
  values: {
    contractor: 'Side of the contractor',
    client: 'Side of the client, which the supervisor signs for too',
  },
});

export const Signatures = {
  two_parties: 'two_parties',
  one_party: 'one_party',
  parties_not_recorded: 'parties_not_recorded',
} as const;
export type Signatures = (typeof Signatures)[keyof typeof Signatures];

registerEnum(Signatures, {
  name: 'Signatures',
  description:
    'two_parties: both sides of the contract signed. one_party: two persons of one side. parties_not_recorded: two persons whose parties are not recorded.',
  values: {
    two_parties: 'Both sides of the contract signed',
    one_party: 'Two persons of one side signed',
    parties_not_recorded: 'Two persons signed; for which party is not recorded',
  },
});

@ObjectType({ description: 'The party that somebody signed for, as it was at that moment.' })
export class SignedFor {
  @CodeField({ description: 'Code of the party' })
  code: string;

  @TextField({ description: 'Its name', maxLength: 200 })
  name: string;

  @EnumField({ description: 'What it is', values: PartyKind, name: 'PartyKind' })
  kind: PartyKind;

  @EnumField({ description: 'Its side of the contract', values: PartySide, name: 'PartySide' })
  side: PartySide;

  @TextField({
    description: 'Why the project let one party sign, where both signatures are of one side',
    maxLength: 2000,
    optional: true,
  })
  oneParty?: string;
}
