import { readFileSync } from 'node:fs';
import path from 'node:path';
import { withPermissions } from '../../src/commands/describe.js';
import { PERMISSIONS, ROLE_PERMISSIONS, ROLES } from '../../src/common/auth/permissions.js';
import { packageRoot } from '../../src/common/package-root.js';

const document = readFileSync(path.join(packageRoot, 'docs', 'security.md'), 'utf8');

describe('the table of permissions in docs/security.md', () => {
  it('is that of the code', () => {
    expect(withPermissions(document)).toBe(document);
  });

  it('has a row for each permission and says yes for the roles that have it', () => {
    const rows = document
      .split('\n')
      .map((line) => line.split('|').map((cell) => cell.trim()))
      .filter(([, name = '']) => /^`[a-z_]+\.[a-z]+`$/.test(name));
    expect(rows.map(([, name]) => name)).toEqual(PERMISSIONS.map((permission) => `\`${permission}\``));
    for (const [index, [, , , ...cells]] of rows.entries()) {
      const permission = PERMISSIONS[index] ?? 'record.read';
      const allowed = ROLES.filter((role) => ROLE_PERMISSIONS[role].includes(permission));
      expect([permission, ROLES.filter((_, at) => cells[at] === 'yes')]).toEqual([permission, allowed]);
    }
  });

  it('is between two marks', () => {
    expect(() => withPermissions(document.replace('<!-- /permissions -->', ''))).toThrow(
      'docs/security.md needs',
    );
  });
});
