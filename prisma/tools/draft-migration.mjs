/** `npm run migration:draft -- name`: writes what the migrations lack, against schema.prisma, as a new one to be read and completed. */
import { mkdirSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { difference } from './difference.mjs';

const name = process.argv[2] ?? '';
if (!/^[a-z][a-z0-9_]*$/.test(name)) {
  process.stderr.write(
    'Say what the migration does, in small letters: npm run migration:draft -- add_shift\n',
  );
  process.exit(2);
}

const sql = await difference();
if (sql === '') {
  process.stdout.write('The migrations and schema.prisma agree: nothing to draft.\n');
} else {
  const stamp = new Date().toISOString().slice(0, 19).replace(/\D/g, '');
  const folder = path.resolve(import.meta.dirname, '..', 'migrations', `${stamp}_${name}`);
  mkdirSync(folder, { recursive: true });
  writeFileSync(path.join(folder, 'migration.sql'), sql);
  process.stdout.write(`${path.relative(process.cwd(), folder)}/migration.sql\n`);
}
