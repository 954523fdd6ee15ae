import { COMMANDS } from '../../src/commands/run-command.js';
import { captured } from '../support/captured-command.js';

describe('--help', () => {
  let environment: NodeJS.ProcessEnv;

  beforeEach(() => {
    environment = { ...process.env };
    // a database that nobody can reach: a command that asks it fails
    process.env['DATABASE_URL'] = 'postgresql://nobody@127.0.0.1:1/none';
  });

  afterEach(() => {
    process.env = environment;
  });

  const kinds = [...Object.keys(COMMANDS), 'import strokes', 'import samples'];

  it.each(kinds.flatMap((name) => [[name, '--help'] as const, [name, '-h'] as const]))(
    'of drivebook %s %s prints its usage and does nothing',
    async (name, flag) => {
      const { status, out, err } = await captured(...name.split(' '), flag);
      expect([status, err]).toEqual([0, '']);
      expect(out.startsWith(`drivebook ${name}`)).toBe(true);
    },
  );

  it('of drivebook itself names each command', async () => {
    for (const flag of ['--help', '-h', 'help']) {
      const { status, out } = await captured(flag);
      expect(status).toBe(0);
      for (const name of Object.keys(COMMANDS)) expect(out).toContain(`\n  ${name} `);
    }
  });

  it.each([['recompute'], ['serve'], ['describe'], ['demo']])(
    'drivebook %s refuses an argument that it does not know',
    async (name) => {
      const { status, err } = await captured(name, 'now');
      expect([status, err]).toEqual([2, expect.stringContaining(`drivebook ${name}`)]);
    },
  );
});
