import { type Permission, PERMISSIONS } from '../../../common/auth/permissions.js';

/** Only a person can sign. */
const SIGNATURES: readonly Permission[] = [
  'shift.countersign',
  'shift.reopen',
  'hold_point.release',
  'alert.acknowledge',
  'class.agree',
  'valuation.agree',
  'valuation.certify',
];

/** Permissions that grant rights, or create a webhook that would outlast the key: only for keys of the whole installation, created by its operator. */
const RIGHTS: readonly Permission[] = ['project.write', 'members.write', 'keys.write', 'webhooks.write'];

/** The scopes of a key of the whole installation. */
export const INSTALLATION_SCOPES = PERMISSIONS.filter((permission) => !SIGNATURES.includes(permission));

/** Why no project key may have the permission, in words; undefined: it may. */
export const scopeFault = (permission: Permission): string | undefined => {
  if (SIGNATURES.includes(permission)) return `${permission} is for people: machines do not sign`;
  if (RIGHTS.includes(permission)) return `${permission} is for people: machines do not grant rights`;
  return undefined;
};
