import { createHash } from 'node:crypto';
import { readdirSync, readFileSync } from 'node:fs';
import path from 'node:path';
import { packageRoot } from '../package-root.js';

/** Our own files, and those of packages (prisma/tools/generate.mjs), which have megabytes and are read on first use. */
const OWN = path.join(packageRoot, 'src', 'assets');
const FOLDERS = [OWN, path.join(packageRoot, 'src', 'generated', 'browser')];

const TYPES: Record<string, string | undefined> = {
  '.css': 'text/css; charset=utf-8',
  '.js': 'text/javascript; charset=utf-8',
  '.svg': 'image/svg+xml; charset=utf-8',
};

export interface Asset {
  type: string;
  text: () => string;
}

const byName = new Map<string, string>();
const byPath = new Map<string, Asset>();

for (const file of FOLDERS.flatMap((folder) => readdirSync(folder).map((name) => path.join(folder, name)))) {
  const { base: name, name: stem, ext } = path.parse(file);
  const type = TYPES[ext];
  if (type === undefined) continue;
  const text = readFileSync(file, 'utf8');
  const digest = createHash('sha256').update(text).digest('hex').slice(0, 12);
  byName.set(name, `${stem}-${digest}${ext}`);
  const kept = path.dirname(file) === OWN ? text : undefined;
  byPath.set(`${stem}-${digest}${ext}`, { type, text: () => kept ?? readFileSync(file, 'utf8') });
}

/** The URL of a file: it contains a digest of the text, so that browsers can cache it. @throws Error when there is no such file */
export const assetPath = (name: string): string => {
  const file = byName.get(name);
  if (file === undefined) throw new Error(`No file ${name} for pages.`);
  return `/assets/${file}`;
};

/** The file for the end of a URL. */
export const assetOf = (file: string): Asset | undefined => byPath.get(file);
