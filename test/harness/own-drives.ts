import { aDrive, aProject } from '../builders/project.js';
import { startApp, type TestApp } from './app.js';

/** Base address of the drives. */
export const DRIVES = '/v1/projects/P1/drives';

/** The service, and the drive of the current case. */
export let app: TestApp;
export let drive: string;
export let url: string;

/** Makes another drive the current one. */
export const toDrive = async (
  code: string,
  trial: Omit<Parameters<typeof aDrive>[1], 'drive'> = {},
): Promise<void> => {
  drive = code;
  url = `${DRIVES}/${code}`;
  await aDrive(app, { ...trial, drive: code });
};

/** A separate drive for each case of the file, with the letter and a number as its code. */
export const ownDrives = (letter: string): void => {
  let cases = 0;

  beforeAll(async () => {
    app = await startApp();
    await aProject(app);
  });

  beforeEach(async () => {
    cases += 1;
    await toDrive(`${letter}${cases}`);
  });

  afterAll(() => app.close());
};
