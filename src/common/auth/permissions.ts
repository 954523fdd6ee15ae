/** Permissions within a project. Each route and field declares the one it needs. */
export const PERMISSIONS = [
  'record.read',
  'history.read',
  'shift.write',
  'shift.countersign',
  'shift.reopen',
  'probing.write',
  'hold_point.write',
  'hold_point.release',
  'alert.acknowledge',
  'geology.write',
  'class.propose',
  'class.agree',
  'attachment.write',
  'strokes.import',
  'samples.write',
  'notice.write',
  'catalogue.write',
  'project.write',
  'members.read',
  'members.write',
  'keys.read',
  'keys.write',
  'webhooks.read',
  'webhooks.write',
  'jobs.read',
  'jobs.write',
  'bill.write',
  'valuation.write',
  'valuation.agree',
  'valuation.certify',
] as const;

export type Permission = (typeof PERMISSIONS)[number];

export const ROLES = [
  'viewer',
  'shift_poster',
  'geologist',
  'engineer',
  'qs',
  'administrator',
  'supervisor',
] as const;

export type Role = (typeof ROLES)[number];

/**
 * Permissions of each role. Every writer may read; engineer and supervisor countersign, only the QS certifies. The supervisor acts
 * for the client and posts no shifts.
 */
export const ROLE_PERMISSIONS: Record<Role, readonly Permission[]> = {
  viewer: ['record.read'],
  shift_poster: ['record.read', 'shift.write', 'probing.write', 'alert.acknowledge', 'attachment.write'],
  geologist: [
    'record.read',
    'history.read',
    'probing.write',
    'hold_point.write',
    'alert.acknowledge',
    'geology.write',
    'class.propose',
    'attachment.write',
  ],
  engineer: [
    'record.read',
    'history.read',
    'shift.write',
    'shift.countersign',
    'shift.reopen',
    'probing.write',
    'hold_point.write',
    'hold_point.release',
    'alert.acknowledge',
    'geology.write',
    'class.propose',
    'class.agree',
    'attachment.write',
    'strokes.import',
    'samples.write',
    'notice.write',
    'catalogue.write',
    'members.read',
    'valuation.agree',
  ],
  qs: [
    'record.read',
    'history.read',
    'members.read',
    'class.agree',
    'notice.write',
    'bill.write',
    'valuation.write',
    'valuation.agree',
    'valuation.certify',
  ],
  administrator: [
    'record.read',
    'history.read',
    'catalogue.write',
    'project.write',
    'members.read',
    'members.write',
    'keys.read',
    'keys.write',
    'webhooks.read',
    'webhooks.write',
    'jobs.read',
    'jobs.write',
  ],
  supervisor: [
    'record.read',
    'history.read',
    'shift.countersign',
    'shift.reopen',
    'hold_point.write',
    'hold_point.release',
    'alert.acknowledge',
    'class.agree',
    'members.read',
    'valuation.agree',
  ],
};

export const permissionsOf = (roles: readonly Role[]): Set<Permission> =>
  new Set(roles.flatMap((role) => ROLE_PERMISSIONS[role]));
