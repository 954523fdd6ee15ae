import { createHash, randomBytes } from 'node:crypto';
import { mkdtempSync, readdirSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import type { TestApp } from '../../harness/app.js';

export const ATTACHMENTS = '/v1/projects/P1/drives/N/attachments';

/** A folder for attachments. */
export const aFolder = (): string => mkdtempSync(path.join(tmpdir(), 'drivebook-attachments-'));

/** All files below a folder, with their sizes. */
export const filesIn = (folder: string): Record<string, number> =>
  Object.fromEntries(
    readdirSync(folder, { recursive: true, withFileTypes: true })
      .filter((entry) => entry.isFile())
      .map(({ parentPath, name }) => path.join(parentPath, name))
      .map((file) => [path.relative(folder, file), statSync(file).size] as const)
      .sort(([a], [b]) => (a < b ? -1 : 1)),
  );

export const sha256 = (bytes: Buffer | string): string => createHash('sha256').update(bytes).digest('hex');

/** The required path for the bytes of a digest, below the folder. */
export const place = (projectId: number, digest: string): string =>
  path.join(String(projectId), digest.slice(0, 2), digest.slice(2, 4), digest);

// File headers by the formats (PNG: ISO/IEC 15948; JPEG: ITU-T T.81 and T.871; PDF: ISO 32000; WebP: RFC 9649;
// HEIF: ISO/IEC 23008-12), followed by arbitrary bytes, which nothing checks.

const chunk = (type: string, data: Buffer): Buffer => {
  const length = Buffer.alloc(4);
  length.writeUInt32BE(data.length);
  return Buffer.concat([length, Buffer.from(type, 'latin1'), data, Buffer.alloc(4)]);
};

const PNG = Buffer.from('89504e470d0a1a0a', 'hex');
const IHDR = chunk('IHDR', Buffer.from('00000001000000010802000000', 'hex'));

/** @param first  a chunk before the picture, such as a colour profile */
export const png = (bodyBytes = 5000, first: Buffer = Buffer.alloc(0)): Buffer =>
  Buffer.concat([PNG, IHDR, first, chunk('IDAT', randomBytes(bodyBytes))]);

export const profile = (bytes: number): Buffer => chunk('iCCP', Buffer.alloc(bytes, 7));

export const jpeg = (bodyBytes = 5000): Buffer =>
  Buffer.concat([Buffer.from('ffd8ffe000104a46494600010100000100010000', 'hex'), randomBytes(bodyBytes)]);

export const pdf = (bodyBytes = 5000): Buffer =>
  Buffer.concat([Buffer.from('%PDF-1.7\n'), randomBytes(bodyBytes)]);

export const webp = (bodyBytes = 5000): Buffer => {
  const head = Buffer.from('RIFF\0\0\0\0WEBPVP8 ', 'latin1');
  head.writeUInt32LE(bodyBytes + 8, 4);
  return Buffer.concat([head, randomBytes(bodyBytes)]);
};

export const heif = (brand = 'heic', bodyBytes = 5000): Buffer =>
  Buffer.concat([
    Buffer.from('00000018', 'hex'),
    Buffer.from(`ftyp${brand}\0\0\0\0mif1${brand}`, 'latin1'),
    randomBytes(bodyBytes),
  ]);

/** Uploads a file with its description. */
export const attach = (
  { http }: TestApp,
  bytes: Buffer | string,
  name = 'face.jpg',
  fields: Record<string, string> = {},
  url = ATTACHMENTS,
) => {
  const request = http.post(url);
  for (const [field, value] of Object.entries(fields)) void request.field(field, value);
  return request.attach('file', Buffer.from(bytes as string), name);
};
