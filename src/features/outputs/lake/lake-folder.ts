import { mkdir, open, readdir, realpath, rename, rm, rmdir, stat } from 'node:fs/promises';
import path from 'node:path';
import type pg from 'pg';
import { sha256Of, trySyncFolder } from '../../../common/files/disk.js';
import { type LakeFile, type Manifest, MANIFEST, manifestText, readManifest } from './manifest.js';

const SETTINGS = `set timezone = 'UTC'; set client_encoding = 'UTF8'; set statement_timeout = 0; set idle_in_transaction_session_timeout = 0`;

const LOCK = `select pg_try_advisory_lock(hashtext('drivebook.lake'), hashtext($1)) as locked`;

/** Folder for files being written. Readers of a lake skip names that begin with an underscore. */
const UNFINISHED = '_unfinished';

const sizeOf = async (file: string): Promise<number | undefined> =>
  (await stat(file).catch(() => undefined))?.size;

/**
 * The folder of a lake. Files are written under temporary names and renamed once they are on disk: a reader sees a complete file,
 * either the old or the new one.
 */
export class LakeFolder {
  private count = 0;

  private constructor(
    readonly root: string,
    /** Whether an export was interrupted: then files may be newer than the manifest. */
    readonly wasCutShort: boolean,
  ) {}

  /** Opens a folder, creating it if missing. */
  static async open(root: string): Promise<LakeFolder> {
    await mkdir(root, { recursive: true });
    return LakeFolder.existing(root);
  }

  /** @throws Error when the folder does not exist */
  static async existing(root: string): Promise<LakeFolder> {
    const real = await realpath(root);
    return new LakeFolder(real, (await sizeOf(path.join(real, UNFINISHED))) !== undefined);
  }

  manifest(): Promise<Manifest | undefined> {
    return readManifest(this.full(MANIFEST));
  }

  /** @throws Error when there is none, or an export was interrupted, so that files may be newer than the manifest */
  async completeManifest(): Promise<Manifest> {
    const manifest = await this.manifest();
    if (!manifest || this.wasCutShort)
      throw new Error(
        `${this.root} has no ${MANIFEST}, or an export into it was cut short: export it first.`,
      );
    return manifest;
  }

  /** @throws Error when the folder contains anything that no export has written */
  async refuseOthers(): Promise<void> {
    const found = this.wasCutShort ? [] : await readdir(this.root);
    if (found.some((name) => name !== MANIFEST))
      throw new Error(
        `${this.root} has other files in it, and no manifest of a lake: name an empty folder, or a new one.`,
      );
  }

  /** Marks the lake as being written, and removes what an interrupted export left behind. */
  async begin(): Promise<void> {
    await rm(this.full(UNFINISHED), { recursive: true, force: true });
    await mkdir(this.full(UNFINISHED));
    await trySyncFolder(this.root);
  }

  async finish(): Promise<void> {
    await rm(this.full(UNFINISHED), { recursive: true, force: true });
    await trySyncFolder(this.root);
  }

  /** A temporary name for a file to be written. */
  newFile(): string {
    return this.full(path.join(UNFINISHED, `${(this.count += 1)}.part`));
  }

  /** Moves a file into place, or deletes it if the same file is already there. @returns whether it was moved */
  async publish(written: string, file: LakeFile): Promise<boolean> {
    const place = this.full(file.path);
    if ((await sizeOf(place)) === file.bytes && (await sha256Of(place)) === file.sha256) {
      await rm(written);
      return false;
    }
    await mkdir(path.dirname(place), { recursive: true });
    await rename(written, place);
    await trySyncFolder(path.dirname(place));
    return true;
  }

  /** Removes a file, and folders that become empty. */
  async remove({ path: name }: LakeFile): Promise<void> {
    await rm(this.full(name), { force: true });
    for (let folder = path.dirname(name); folder !== '.'; folder = path.dirname(folder)) {
      const isEmpty = await rmdir(this.full(folder)).then(
        () => true,
        () => false,
      );
      if (!isEmpty) return;
    }
  }

  async writeManifest(manifest: Manifest): Promise<void> {
    const half = this.newFile();
    const handle = await open(half, 'wx');
    await handle.writeFile(manifestText(manifest));
    await handle.sync();
    await handle.close();
    await rename(half, this.full(MANIFEST));
    await trySyncFolder(this.root);
  }

  /** Whether a file matches the manifest: by its size, or by its bytes. */
  async has({ path: name, bytes, sha256 }: LakeFile, byBytes: boolean): Promise<boolean> {
    const place = this.full(name);
    return (await sizeOf(place)) === bytes && (!byBytes || (await sha256Of(place)) === sha256);
  }

  /** The Parquet files in it, by relative path. */
  async files(): Promise<string[]> {
    const found = await readdir(this.root, { recursive: true });
    return found
      .map((name) => name.split(path.sep).join('/'))
      .filter((name) => name.endsWith('.parquet'))
      .sort();
  }

  full(name: string): string {
    return path.join(this.root, ...name.split('/'));
  }
}

/** Applies the read settings of an export to a connection, and keeps other exports out of the folder while it lasts. @throws Error while one is running */
export const claimLake = async (client: pg.Client, { root }: LakeFolder): Promise<void> => {
  await client.query(SETTINGS);
  const { rows } = await client.query<{ locked: boolean }>(LOCK, [root]);
  if (rows[0]?.locked !== true) throw new Error(`Another export is writing into ${root}.`);
};
