import type { MemberInput } from '../features/site/members/member.models.js';
import type { PartyInput } from '../features/site/parties/party.models.js';

/** The parties of the invented contract. */
export const PARTIES = {
  CONTRACTOR: { name: 'Contractor (invented)', kind: 'contractor' },
  CLIENT: { name: 'Client (invented)', kind: 'client' },
  SUPERVISOR: { name: 'Supervisor of the client (invented)', kind: 'supervisor' },
} satisfies Record<string, PartyInput>;

interface DemoPerson extends MemberInput {
  party: keyof typeof PARTIES;
}

/** Invented people, by the subject of their tokens. What takes two signatures is signed by the contractor and the client's side. */
export const PEOPLE = {
  anna: { party: 'CONTRACTOR', roles: ['shift_poster'] },
  bruno: { party: 'CONTRACTOR', roles: ['engineer'] },
  carla: { party: 'CONTRACTOR', roles: ['geologist'] },
  franz: { party: 'CONTRACTOR', roles: ['qs'] },
  dario: { party: 'SUPERVISOR', roles: ['supervisor'] },
  elena: { party: 'SUPERVISOR', roles: ['geologist'] },
  greta: { party: 'CLIENT', roles: ['qs'] },
} satisfies Record<string, DemoPerson>;

export type Person = keyof typeof PEOPLE;
