/** Fails when schema.prisma and the migrations describe different databases. */
import { difference } from './difference.mjs';

const sql = await difference();
if (sql !== '') {
  process.stderr.write(`The migrations lack, against schema.prisma:\n\n${sql}\n`);
  process.exitCode = 1;
}
