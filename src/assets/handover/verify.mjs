// Checks a handover package with Node.js alone: node verify.mjs [folder]
// 1. The package has the format that this script knows. Each file of manifest.json exists with its length, digest and number of rows; there is no other file.
// 2. The history (audit/chain.ndjson) is one chain, and each of its entries has the rows that it sealed (audit/rows.ndjson).
// 3. Each attachment is the file of its name, and each shift has its document.
// Exit status: 0 sound, 1 not.
import { createHash } from 'node:crypto';
import { createReadStream, existsSync, readdirSync, readFileSync, statSync } from 'node:fs';
import path from 'node:path';
import { createInterface } from 'node:readline';
import { fileURLToPath } from 'node:url';

/** The format of packages that it checks. */
const FORMAT = 1;

const folder = path.resolve(process.argv[2] ?? path.dirname(fileURLToPath(import.meta.url)));
const at = (name) => path.join(folder, ...name.split('/'));
const faults = [];
const fault = (text) => faults.push(text);
// A reader of the output may close it early, as `head` does: the exit status says what was found.
process.stdout.on('error', (error) => {
  if (error.code !== 'EPIPE') throw error;
});
const sha256 = (content) => createHash('sha256').update(content).digest('hex');

const parsed = (name, text) => {
  try {
    return JSON.parse(text);
  } catch {
    throw new Error(`${name} is not JSON`);
  }
};

const filesIn = (place, before = '') =>
  readdirSync(place, { withFileTypes: true }).flatMap((entry) =>
    entry.isDirectory()
      ? filesIn(path.join(place, entry.name), `${before}${entry.name}/`)
      : [`${before}${entry.name}`],
  );

/** Digest of a file, its line feeds, and its lines outside quotation marks. */
const measured = async (file) => {
  const hash = createHash('sha256');
  let [bytes, feeds, records, isQuoted] = [0, 0, 0, false];
  for await (const piece of createReadStream(file)) {
    hash.update(piece);
    bytes += piece.length;
    for (const byte of piece) {
      if (byte === 34) isQuoted = !isQuoted;
      else if (byte === 10) {
        feeds += 1;
        if (!isQuoted) records += 1;
      }
    }
  }
  return { bytes, feeds, records, sha256: hash.digest('hex') };
};

const rowsOf = (name, { feeds, records }) => {
  if (name.endsWith('.csv')) return records - 1; // the heading
  if (name.endsWith('.json')) return JSON.parse(readFileSync(at(name), 'utf8')).versions?.length;
  return feeds;
};

const checkFiles = async (manifest) => {
  for (const { path: name, bytes, sha256: digest, rows } of manifest.files) {
    if (!existsSync(at(name))) {
      fault(`${name} is missing`);
      continue;
    }
    const found = await measured(at(name));
    if (found.bytes !== bytes) fault(`${name} has ${found.bytes} bytes, and the manifest says ${bytes}`);
    else if (found.sha256 !== digest) fault(`${name} is not as it was written: its digest differs`);
    if (rows === undefined) continue;
    let count;
    try {
      count = rowsOf(name, found);
    } catch {
      count = 'no readable';
    }
    if (count !== rows) fault(`${name} has ${count} rows, and the manifest says ${rows}`);
  }
  const known = new Set([...manifest.files.map((file) => file.path), 'manifest.json', 'SHA256SUMS']);
  for (const name of filesIn(folder)) if (!known.has(name)) fault(`${name} is in no manifest`);
  const sums = [
    ...manifest.files.map((file) => [file.path, file.sha256]),
    ['manifest.json', sha256(readFileSync(at('manifest.json')))],
  ]
    .map(([name, digest]) => `${digest}  ${name}\n`)
    .join('');
  if (!existsSync(at('SHA256SUMS')) || readFileSync(at('SHA256SUMS'), 'utf8') !== sums)
    fault('SHA256SUMS does not say what the manifest says');
  const count = (start) => manifest.files.filter((file) => file.path.startsWith(start)).length;
  const { shifts, papers, attachments } = manifest.counts;
  if (count('shifts/') !== shifts)
    fault(`the manifest counts ${shifts} shifts and lists ${count('shifts/')}`);
  if (count('papers/') !== papers)
    fault(`the manifest counts ${papers} papers and lists ${count('papers/')}`);
  if (count('attachments/') - 1 !== attachments)
    fault(`the manifest counts ${attachments} attachments and lists ${count('attachments/') - 1}`);
  for (const { path: name, sha256: digest } of manifest.files)
    if (/^attachments\/[0-9a-f]{64}/.test(name) && name.slice(12, 76) !== digest)
      fault(`${name} is not the attachment of its name`);
};

async function* linesOf(name) {
  if (!existsSync(at(name))) return;
  for await (const line of createInterface({ input: createReadStream(at(name)), crlfDelay: Infinity }))
    if (line !== '') yield parsed(`a line of ${name}`, line);
}

/** The rows of each entry, ordered by entry. */
async function* entriesOf(name) {
  let entry;
  for await (const row of linesOf(name)) {
    if (entry && entry.number !== row.number) {
      yield entry;
      entry = undefined;
    }
    entry ??= { number: row.number, rows: [] };
    entry.rows.push(row);
  }
  if (entry) yield entry;
}

/** The text that an entry has sealed: tables by name, lines by their bytes. */
const contentOf = (rows, lineOf) => {
  const tables = new Map();
  for (const row of rows) tables.set(row.table, [...(tables.get(row.table) ?? []), Buffer.from(lineOf(row))]);
  const hash = createHash('sha256');
  for (const [table, lines] of [...tables].sort(([a], [b]) => (a < b ? -1 : 1))) {
    hash.update(`${table}\n`);
    for (const line of lines.sort(Buffer.compare)) hash.update(line).update('\n');
  }
  return hash.digest('hex');
};

const checkChain = async ({ history }) => {
  const hasRows = existsSync(at('audit/rows.ndjson'));
  const withheld = new Set(history.withheld);
  const contents = hasRows ? entriesOf('audit/rows.ndjson') : undefined;
  let next = (await contents?.next())?.value;
  let [before, count, moment] = ['', 0, ''];
  for await (const { number, sealed, hash } of linesOf('audit/chain.ndjson')) {
    const entry = parsed('an entry of audit/chain.ndjson', sealed);
    count += 1;
    if (number !== count || entry.number !== count) return fault(`entry ${count} of the history is missing`);
    if (sha256(Buffer.concat([Buffer.from(before, 'hex'), Buffer.from(sealed)])) !== hash)
      return fault(`entry ${number} of the history is not what it sealed, or it follows another entry`);
    if (!(new Date(entry.at) > new Date(moment === '' ? 0 : moment)))
      return fault(`entry ${number} of the history was made before the entry that it follows`);
    if (hasRows) {
      if (next && next.number < number)
        return fault(`entry ${next.number} of the history has rows and is not in the chain`);
      const rows = next?.number === number ? next.rows : [];
      if (next?.number === number) next = (await contents.next()).value;
      const isWithheld = rows.some((row) => row.withheld);
      if (isWithheld !== withheld.has(number))
        return fault(`entry ${number} of the history is withheld, and the manifest does not say so`);
      if (
        !isWithheld &&
        entry.content !== contentOf(rows, (row) => row.line) &&
        entry.content !== contentOf(rows, (row) => row.older ?? row.line)
      )
        return fault(
          `entry ${number} of the history: the rows that it added or removed are not those it sealed`,
        );
    }
    [before, moment] = [hash, entry.at];
  }
  if (next) fault(`entry ${next.number} of the history has rows and is not in the chain`);
  if (count !== history.entries || String(count) !== String(history.number) || before !== history.hash)
    fault(
      `the history ends at entry ${count}, ${before}, and the manifest says ${history.number}, ${history.hash}`,
    );
};

const say = (text) => process.stdout.write(`${text}\n`);

if (!existsSync(at('manifest.json')) || !statSync(at('manifest.json')).isFile()) {
  fault('manifest.json is missing: this is no complete package');
} else {
  let manifest;
  try {
    manifest = parsed('manifest.json', readFileSync(at('manifest.json'), 'utf8'));
    if (manifest.format !== FORMAT)
      fault(`the package has format ${manifest.format}, and this script checks format ${FORMAT}`);
    else {
      await checkFiles(manifest);
      await checkChain(manifest);
    }
  } catch (error) {
    fault(`it cannot be read: ${error.message}`);
  }
  if (manifest && faults.length === 0) {
    const { project, drive, madeAt, files, history, counts } = manifest;
    say(`Project ${project}${drive ? `, drive ${drive}` : ''}, as of ${madeAt}: sound.`);
    say(
      `${files.length} files as the manifest says; ${counts.shifts} shifts, ${counts.papers} papers, ${counts.attachments} attachments.`,
    );
    say(`${history.entries} entries of the history in one chain, head ${history.hash}.`);
    if (history.withheld.length > 0)
      say(`Content withheld, and not computed anew, of entries ${history.withheld.join(', ')}.`);
    say(`Digest of the manifest: ${sha256(readFileSync(at('manifest.json')))}`);
    say(
      'Compare the digest and the head with those noted elsewhere: that shows that nothing was changed since.',
    );
  }
}
for (const text of faults) say(`NOT SOUND: ${text}`);
process.exitCode = faults.length > 0 ? 1 : 0;
