import { ObjectType, registerEnumType } from '@nestjs/graphql';
import { CodeField, EnumField, TextField } from '../../common/api/fields.js';
import { PartyKind, PartySide } from '../../generated/prisma/enums.js';

registerEnumType(PartyKind, {
  name: 'PartyKind',
  description: 'contractor; client; supervisor, who acts for the client; designer.',
});

registerEnumType(PartySide, {
  name: 'PartySide',
  description: 'On which side of the contract a party signs: client and supervisor are one side.',
});

export const Signatures = {
  two_parties: 'two_parties',
  one_party: 'one_party',
  parties_not_recorded: 'parties_not_recorded',
} as const;
export type Signatures = (typeof Signatures)[keyof typeof Signatures];

registerEnumType(Signatures, {
  name: 'Signatures',
  description:
    'two_parties: both sides of the contract signed. one_party: two persons of one side. parties_not_recorded: two persons, of whom it is not known for whom they signed.',
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
