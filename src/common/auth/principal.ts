import type { Permission } from './permissions.js';

/** Prefix of subjects that are API keys; no token may carry such a subject. */
export const KEY_SUBJECT = 'key:';

/** The subject of the local user; no token may carry it. */
export const LOCAL_SUBJECT = 'local';

/** The authenticated sender of a request. Its permissions are decided per project. */
export interface Principal {
  /** `sub` of an access token, `key:<name>` of an API key, or `local` */
  subject: string;
  /** How it was authenticated, as the history shows it: `token`, `key <prefix>`, `local` or `command` */
  credential: string;
  /** An API key is confined to its own project (null: the whole installation) and to its scopes */
  key?: { projectId: number | null; scopes: readonly Permission[] };
}

/** Safe for the database and for a log line; OpenID Connect Core 1.0, section 2, limits `sub` to 255 characters. */
const SUBJECT = /^[^\p{Cc}\p{Cs}]{1,255}$/u;

/** Whether a text can be the subject of an access token: those of API keys and local mode are reserved. */
export const isTokenSubject = (text: string): boolean =>
  SUBJECT.test(text) && !text.startsWith(KEY_SUBJECT) && text !== LOCAL_SUBJECT;

/** Name by which connections and subscriptions are counted: a key's prefix, a person's subject. */
export const nameOf = ({ subject, credential, key }: Principal): string => (key ? credential : subject);
