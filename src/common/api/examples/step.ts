/** Address prefixes of the examples: below their project, and below its drive. */
export const P = '/v1/projects/{project}';
export const D = `${P}/drives/{drive}`;

/** Project and drive of the examples, unless a step names others. */
export const PLACE = { project: 'P1', drive: 'N' };

/** Who sends the examples: subjects, as in an access token. */
export type Person = 'owner' | 'poster' | 'engineer' | 'supervisor' | 'qs';

export const FORM = 'multipart/form-data';
export const NDJSON = 'application/x-ndjson';
export const JSON_TYPE = 'application/json';

/** A request of the invented story; it can be sent as it is once those before it have been sent. */
export interface Step {
  method: 'put' | 'post' | 'delete';
  /** As in the OpenAPI document. */
  path: string;
  as: Person;
  /** Keys in its address, beside project and drive or instead of them. */
  keys: Record<string, string>;
  /** An object: the fields of a form or JSON; a text: lines of JSON; undefined: no body. */
  body?: object | string;
  type: string;
  /** An action that must name the version it applies to. */
  ofVersion?: boolean;
}

type Keys = Record<string, string>;

export const put = (as: Person, path: string, keys: Keys, body: object): Step => ({
  method: 'put',
  path,
  as,
  keys,
  body,
  type: JSON_TYPE,
});

export const post = (
  as: Person,
  path: string,
  keys: Keys,
  body?: object | string,
  type = JSON_TYPE,
): Step => ({ method: 'post', path, as, keys, body, type });

export const remove = (as: Person, path: string, keys: Keys): Step => ({
  method: 'delete',
  path,
  as,
  keys,
  type: JSON_TYPE,
});

/** An action on the version that its sender has read. */
export const onVersion = (step: Step): Step => ({ ...step, ofVersion: true });
