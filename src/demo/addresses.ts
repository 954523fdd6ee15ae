import { DRIVE, PROJECT } from './site.js';

/** The address of the invented drive's project in the API. */
export const PROJECT_PATH = `/v1/projects/${PROJECT.code}`;
export const DRIVE_PATH = `${PROJECT_PATH}/drives/${DRIVE.code}`;

export const shiftPath = ({ date, shift }: { date: string; shift: string }): string =>
  `${DRIVE_PATH}/shifts/${date}/${shift}`;
