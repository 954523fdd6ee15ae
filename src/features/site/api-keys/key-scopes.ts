import { type Permission, PERMISSIONS } from '../../../common/auth/permissions.js';

/** A signature is a person's. */
const SIGNATURES: readonly Permission[] = [
  'shift.countersign',
  'shift.reopen',
  'hold_point.release',
  'alert.acknowledge',
  'class.agree',
  'valuation.agree',
  'valuation.certify',
];

/** Hands out rights, as a webhook does that outlasts the key: for keys of the whole installation, which its operator makes. */
const RIGHTS: readonly Permission[] = ['project.write', 'members.write', 'keys.write', 'webhooks.write'];

/** What a key of the whole installation may do. */
export const INSTALLATION_SCOPES = PERMISSIONS.filter((permission) => !SIGNATURES.includes(permission));

/** Why no key of a project may have the permission, in words; undefined: it may. */
export const scopeFault = (permission: Permission): string | undefined => {
  if (SIGNATURES.includes(permission)) return `${permission} is for people: machines do not sign`;
  if (RIGHTS.includes(permission)) return `${permission} is for people: machines do not grant rights`;
  return undefined;
};
