import type { FastifyReply } from 'fastify';
import type { ComponentChildren, VNode } from 'preact';
import { render } from 'preact-render-to-string';
import { assetPath } from './assets.js';

/**
 * What a page may load and do: nothing but our own style sheets, scripts, pictures and answers, whatever text of the record stands in it
 * (Content Security Policy Level 3).
 */
export const PAGE_POLICY = [
  "default-src 'none'",
  "style-src 'self'",
  "script-src 'self'",
  "img-src 'self'",
  "connect-src 'self'",
  "form-action 'self'",
  "base-uri 'none'",
  "frame-ancestors 'none'",
].join('; ');

/** What a page may load and do whose library carries its fonts and pictures within its style sheet. */
export const LIBRARY_POLICY = `${PAGE_POLICY.replace("img-src 'self'", "img-src 'self' data:")}; font-src data:`;

export const PAGE_TYPE = 'text/html; charset=utf-8';

export interface PageProps {
  title: string;
  /** Style sheets, page.css for a page of ours, and more such as report.css. */
  styles?: string[];
  /** Scripts of `src/assets`, run once the document is read. */
  scripts?: string[];
  /** An address of this service that the browser goes to at once. */
  refresh?: string;
  children: ComponentChildren;
}

/** How our pages look. */
export const PAGE_STYLE = 'page.css';

/** The frame of every page: language, title, width of a phone, style sheet. Text in it is escaped. */
export const Page = ({ title, styles = [PAGE_STYLE], scripts = [], refresh, children }: PageProps): VNode => (
  <html lang="en">
    <head>
      <meta charset="utf-8" />
      <meta name="viewport" content="width=device-width, initial-scale=1" />
      {refresh !== undefined && <meta http-equiv="refresh" content={`0; url=${refresh}`} />}
      <title>{`${title} – Drivebook`}</title>
      <link rel="icon" href={assetPath('icon.svg')} type="image/svg+xml" />
      {styles.map((name) => (
        <link rel="stylesheet" href={assetPath(name)} />
      ))}
      {scripts.map((name) => (
        <script src={assetPath(name)} defer />
      ))}
    </head>
    <body>{children}</body>
  </html>
);

/** Controls that a document may not hold (HTML, section 13.1.1 and 13.2.3.5). */
const UNFIT = /[\u0000-\u0008\u000b\u000e-\u001f\u007f-\u009f]/g;

export const pageText = (page: VNode): string =>
  `<!doctype html>\n${render(page).replace(UNFIT, '\uFFFD')}\n`;

/** The page as an answer: its text, with the headers of a page. Private to the reader; never cached. */
export const answerPage = (reply: FastifyReply, page: VNode, policy = PAGE_POLICY): string => {
  void reply
    .header('content-type', PAGE_TYPE)
    .header('content-security-policy', policy)
    .header('referrer-policy', 'same-origin') // without it browsers send forms of ours with the origin null
    .header('cache-control', 'private, no-store');
  return pageText(page);
};
