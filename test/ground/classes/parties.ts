import type supertest from 'supertest';
import { aDrive, aProject } from '../../builders/project.js';
import { type Office, startOffice } from '../../harness/office.js';

export type Body = Record<string, unknown>;

const ROLES = { gina: 'geologist', boris: 'engineer', clara: 'engineer', quinn: 'qs', vera: 'viewer' };

/** The representatives of the parties. */
export const BOTH = { contractorRepresentative: 'C. Contractor', employerRepresentative: 'E. Employer' };
export const REASON = { reason: 'Größe misread' };

/** The project in which classes are decided, with drive N, drive S against the chainage, and drive EMPTY. */
export interface Parties {
  office: Office;
  url(drive?: string): string;
  put(
    who: string,
    number: number | string,
    body: Body,
    headers?: Record<string, string>,
    drive?: string,
  ): supertest.Test;
  get(number: number, drive?: string): supertest.Test;
  /** Agrees, disputes or withdraws, with the current tag. */
  step(who: string, number: number, what: string, body?: Body, drive?: string): Promise<supertest.Response>;
}

/**
 * Gina is the geologist, boris and clara are engineers, who may propose and agree; quinn is the QS, vera is a viewer, olga is the
 * administrator.
 */
export const startParties = async (): Promise<Parties> => {
  const office = await startOffice('olga', Object.keys(ROLES));
  await aProject(office.as('olga'));
  await aDrive(office.as('olga'), {
    drive: 'S',
    startChainage: '2+200',
    endChainage: '1+200',
    direction: -1,
  });
  await aDrive(office.as('olga'), { drive: 'EMPTY' });
  await office.employ('P1', ROLES);
  const url = (drive = 'N'): string => `/v1/projects/P1/drives/${drive}`;
  const at = (number: number | string, drive?: string): string => `${url(drive)}/class-decisions/${number}`;
  const get: Parties['get'] = (number, drive) => office.as('vera').http.get(at(number, drive));
  return {
    office,
    url,
    get,
    put: (who, number, body, headers = {}, drive) =>
      office.as(who).http.put(at(number, drive)).set(headers).send(body),
    step: async (who, number, what, body = {}, drive) => {
      const { etag } = (await get(number, drive)).body as { etag?: string };
      const tag = { 'If-Match': etag ?? '"none"' };
      return office
        .as(who)
        .http.post(`${at(number, drive)}/${what}`)
        .set(tag)
        .send(body);
    },
  };
};

export const summaryOf = ({ status, body }: { status: number; body: { detail?: string } }) => [
  status,
  body.detail,
];
