/**
 * Who may do what, written by hand: V viewer, P shift poster, G geologist, E engineer, Q quantity surveyor,
 * A administrator of the project. Independent of the code, as the customer would have it on a sheet.
 */
const READ = 'VPGEQA';
const POST = 'PE';
const SIGN = 'E';
const PROBE = 'PGE';
const CATALOGUE = 'EA';
const PAST = 'GEQA';

export type Right = [route: string, who: string];

const D = '/drives/N';
const S = `${D}/shifts/2027-03-01/day`;

/** REST: method and address behind `/v1/projects/{project}`. */
export const REST: Right[] = [
  ['GET ', READ],
  ['PUT ', 'A'],
  ['GET /calendar-shifts', READ],
  ['PUT /calendar-shifts/day', CATALOGUE],
  ['GET /activity-codes', READ],
  ['PUT /activity-codes/BORE', CATALOGUE],
  ['GET /ground-classes', READ],
  ['PUT /ground-classes/A', CATALOGUE],
  ['GET /support-items', READ],
  ['PUT /support-items/BOLT', CATALOGUE],
  ['GET /machines', READ],
  ['GET /machines/M1', READ],
  ['PUT /machines/M1', CATALOGUE],
  ['GET /drives', READ],
  [`GET ${D}`, READ],
  [`PUT ${D}`, CATALOGUE],
  [`GET ${D}/progress`, READ],
  [`GET ${D}/strokes`, READ],
  [`POST ${D}/strokes/import`, SIGN],
  [`GET ${S}`, READ],
  [`PUT ${S}`, POST],
  [`DELETE ${S}`, POST],
  [`POST ${S}/countersign`, SIGN],
  [`POST ${S}/reopen`, SIGN],
  [`GET ${S}/versions`, READ],
  [`GET ${S}/versions/1`, READ],
  [`GET ${D}/probe-holes`, READ],
  [`GET ${D}/probe-holes/PH1`, READ],
  [`PUT ${D}/probe-holes/PH1`, PROBE],
  [`GET ${D}/probe-cover`, READ],
  [`GET ${D}/advance/shifts`, READ],
  [`GET ${D}/advance/days`, READ],
  [`GET ${D}/support-quantities`, READ],
  [`GET ${D}/support-quantities/days`, READ],
  [`GET ${D}/support-quantities/ground-classes`, READ],
  [`GET ${D}/support-quantities/intervals`, READ],
  [`GET ${D}/open-items`, READ],
  [`GET ${D}/as-built`, READ],
  ['GET /history', PAST],
  ['GET /history/head', PAST],
  ['GET /history/1', PAST],
  ['GET /history/1/rows', PAST],
  ['GET /members', 'EQA'],
  ['PUT /members/someone', 'A'],
  ['DELETE /members/someone', 'A'],
  ['GET /api-keys', 'A'],
  ['POST /api-keys', 'A'],
  ['DELETE /api-keys/aaaaaaaaaa', 'A'],
];

/** GraphQL: type and field. */
export const GRAPHQL: Right[] = [
  ['Query.project', READ],
  ['Query.drive', READ],
  ['Query.shift', READ],
  ['Query.shiftVersions', READ],
  ['Query.shiftVersion', READ],
  ['Query.changes', PAST],
  ['Query.historyHead', PAST],
  ['Query.rowChanges', PAST],
  ['Project.calendarShifts', READ],
  ['Project.activityCodes', READ],
  ['Project.groundClasses', READ],
  ['Project.supportItems', READ],
  ['Project.machines', READ],
  ['Project.drives', READ],
  ['Project.members', 'EQA'],
  ['Project.apiKeys', 'A'],
  ['Drive.progress', READ],
  ['Drive.strokes', READ],
  ['Drive.probeHoles', READ],
  ['Drive.probeCover', READ],
  ['Drive.advanceByShift', READ],
  ['Drive.advanceByDay', READ],
  ['Drive.supportQuantities', READ],
  ['Drive.supportByDay', READ],
  ['Drive.supportByGroundClass', READ],
  ['Drive.supportByInterval', READ],
  ['Drive.openItems', READ],
  ['Drive.asBuilt', READ],
  ['Mutation.putProject', 'A'],
  ['Mutation.putCalendarShift', CATALOGUE],
  ['Mutation.putActivityCode', CATALOGUE],
  ['Mutation.putGroundClass', CATALOGUE],
  ['Mutation.putSupportItem', CATALOGUE],
  ['Mutation.putMachine', CATALOGUE],
  ['Mutation.putDrive', CATALOGUE],
  ['Mutation.putShift', POST],
  ['Mutation.removeShift', POST],
  ['Mutation.countersignShift', SIGN],
  ['Mutation.reopenShift', SIGN],
  ['Mutation.putProbeHole', PROBE],
  ['Mutation.putMember', 'A'],
  ['Mutation.removeMember', 'A'],
  ['Mutation.createApiKey', 'A'],
  ['Mutation.revokeApiKey', 'A'],
];

/** For whoever may read; tried by their own protocol in test/live. */
export const SUBSCRIPTIONS = ['Subscription.facePosition', 'Subscription.shiftAccepted'];
