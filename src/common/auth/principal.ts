import type { Permission } from './permissions.js';

/** Subjects that begin so are API keys; no token may carry one. */
export const KEY_SUBJECT = 'key:';

/** The subject of the one user of local mode; no token may carry it. */
export const LOCAL_SUBJECT = 'local';

/** Who sends a request, once that is proven. What it may do is decided by project. */
export interface Principal {
  /** `sub` of an access token, `key:<name>` of an API key, or `local` */
  subject: string;
  /** How it was proven, as the history shows it: `token`, `key <prefix>`, `local` or `command` */
  credential: string;
  /** An API key reaches its own project only, null: the whole installation, and no further than its scopes */
  key?: { projectId: number | null; scopes: readonly Permission[] };
}

/** Fit for the database and for a log line; OpenID Connect Core 1.0, section 2, keeps `sub` to 255 characters. */
const SUBJECT = /^[^\p{Cc}\p{Cs}]{1,255}$/u;

/** Whether a text can be the subject of an access token: those of API keys and of local mode are the service's own. */
export const isTokenSubject = (text: string): boolean =>
  SUBJECT.test(text) && !text.startsWith(KEY_SUBJECT) && text !== LOCAL_SUBJECT;

/** Whose connections and subscriptions are counted together: a key's by its prefix, a person's by their subject. */
export const nameOf = ({ subject, credential, key }: Principal): string => (key ? credential : subject);
