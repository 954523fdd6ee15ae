import type supertest from 'supertest';
import type { ShiftDocument } from '../../src/features/driving/shifts/shift-document.model.js';
import type { TestApp } from './app.js';

/** The answer of either API; the status is that of the problem if there is one. */
export interface ShiftAnswer {
  status: number;
  /** What went wrong. */
  detail?: string;
  state?: string;
  outcome?: string;
  etag?: string;
  document?: ShiftDocument;
}

export interface ShiftVersion {
  change: number;
  state: string;
  etag: string;
  madeAt: string;
  madeBy: string;
  reason: string | null;
  until: string | null;
  postedBy: string[];
  countersignedBy: string | null;
  countersignedAt: string | null;
}

/** The day shifts of drive N through one API; every call names its caller. */
export interface ShiftApi {
  put(who: string, date: string, document: object, ifMatch?: string): Promise<ShiftAnswer>;
  remove(who: string, date: string, ifMatch: string): Promise<ShiftAnswer>;
  countersign(who: string, date: string, ifMatch: string): Promise<ShiftAnswer>;
  reopen(who: string, date: string, ifMatch: string, reason: string): Promise<ShiftAnswer>;
  get(who: string, date: string): Promise<ShiftAnswer>;
  versions(who: string, date: string): Promise<ShiftAnswer & { list: ShiftVersion[] }>;
  version(who: string, date: string, change: number): Promise<ShiftAnswer>;
}

/** Headers that authenticate a person. */
export type HeadersOf = (who: string) => Record<string, string>;

export const shiftsByRest = ({ http }: TestApp, project: string, headersOf: HeadersOf): ShiftApi => {
  const url = (date: string, more = ''): string =>
    `/v1/projects/${project}/drives/N/shifts/${date}/day${more}`;
  const sent = async (who: string, request: supertest.Test, ifMatch?: string) => {
    const { status, body, headers } = await request
      .set('Accept-Encoding', 'identity') // a compressed answer has its own tag
      .set(headersOf(who))
      .set(ifMatch === undefined ? {} : { 'If-Match': ifMatch });
    return { status, detail: body.detail as string | undefined, etag: headers['etag'], body };
  };
  const moved = async (...request: Parameters<typeof sent>): Promise<ShiftAnswer> => {
    const { body, ...answer } = await sent(...request);
    return { ...answer, state: body.state, outcome: body.outcome };
  };
  const read = async (...request: Parameters<typeof sent>): Promise<ShiftAnswer> => {
    const { body, ...answer } = await sent(...request);
    return { ...answer, document: body };
  };
  return {
    put: (who, date, document, ifMatch) => moved(who, http.put(url(date)).send(document), ifMatch),
    remove: (who, date, ifMatch) => moved(who, http.delete(url(date)), ifMatch),
    countersign: (who, date, ifMatch) => moved(who, http.post(url(date, '/countersign')), ifMatch),
    reopen: (who, date, ifMatch, reason) =>
      moved(who, http.post(url(date, '/reopen')).send({ reason }), ifMatch),
    get: (who, date) => read(who, http.get(url(date))),
    versions: async (who, date) => {
      const { body, ...answer } = await sent(who, http.get(url(date, '/versions')));
      return { ...answer, list: body };
    },
    version: (who, date, change) => read(who, http.get(url(date, `/versions/${change}`))),
  };
};

const NAMED = '$project: String!, $date: Date!';
const SHIFT = 'project: $project, drive: "N", date: $date, shift: "day"';
const RECEIPT = '{ state outcome etag }';
const DOCUMENT = `{ etag document { state startsAt endsAt crewLead remark
  strokes { number borings { from to startedAt endedAt thrustKn torqueKnm rotationRpm penetrationMmPerRev gripperPressureBar muckMassT } }
  activities { startedAt endedAt code responsibleParty equipment remark }
  support { item zone from to quantity positions arcPositionsDeg arcFromDeg arcToDeg thicknessMm deliveredVolumeM3 installedAt remark }
  ground { from to groundClass lithology remark } } }`;
const VERSION = '{ change state etag madeAt madeBy reason until postedBy countersignedBy countersignedAt }';

const QUERIES = {
  put: `mutation (${NAMED}, $document: ShiftDocumentInput!, $ifMatch: String) { answer: putShift(${SHIFT}, document: $document, ifMatch: $ifMatch) ${RECEIPT} }`,
  remove: `mutation (${NAMED}, $ifMatch: String!) { answer: removeShift(${SHIFT}, ifMatch: $ifMatch) }`,
  countersign: `mutation (${NAMED}, $ifMatch: String!) { answer: countersignShift(${SHIFT}, ifMatch: $ifMatch) ${RECEIPT} }`,
  reopen: `mutation (${NAMED}, $ifMatch: String!, $reason: String!) { answer: reopenShift(${SHIFT}, ifMatch: $ifMatch, reason: $reason) ${RECEIPT} }`,
  get: `query (${NAMED}) { answer: shift(${SHIFT}) ${DOCUMENT} }`,
  versions: `query (${NAMED}) { answer: shiftVersions(${SHIFT}) ${VERSION} }`,
  version: `query (${NAMED}, $change: Int!) { answer: shiftVersion(${SHIFT}, change: $change) ${DOCUMENT} }`,
};

export const shiftsByGraphql = ({ http }: TestApp, project: string, headersOf: HeadersOf): ShiftApi => {
  const sent = async (who: string, query: string, variables: object) => {
    const request = http.post('/graphql').set(headersOf(who));
    const { status, body } = await request.send({ query, variables: { project, ...variables } });
    const [error] = (body.errors ?? []) as { message: string; extensions?: { status: number } }[];
    return {
      status: error ? (error.extensions?.status ?? 400) : status,
      detail: error?.message,
      answer: body.data?.answer,
    };
  };
  const answerOf = async (...request: Parameters<typeof sent>): Promise<ShiftAnswer> => {
    const { answer, ...rest } = await sent(...request);
    return { ...rest, ...(typeof answer === 'object' ? answer : {}) };
  };
  return {
    put: (who, date, document, ifMatch) => answerOf(who, QUERIES.put, { date, document, ifMatch }),
    remove: (who, date, ifMatch) => answerOf(who, QUERIES.remove, { date, ifMatch }),
    countersign: (who, date, ifMatch) => answerOf(who, QUERIES.countersign, { date, ifMatch }),
    reopen: (who, date, ifMatch, reason) => answerOf(who, QUERIES.reopen, { date, ifMatch, reason }),
    get: (who, date) => answerOf(who, QUERIES.get, { date }),
    versions: async (who, date) => {
      const { answer, ...rest } = await sent(who, QUERIES.versions, { date });
      return { ...rest, list: answer };
    },
    version: (who, date, change) => answerOf(who, QUERIES.version, { date, change }),
  };
};
