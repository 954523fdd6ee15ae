import type { FastifyReply } from 'fastify';
import type { ComponentChildren, VNode } from 'preact';
import { render } from 'preact-render-to-string';
import { assetPath } from './assets.js';

/**
 * What a page may load and do: only our own style sheets, scripts, pictures and answers, whatever text of the record it contains
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

/** The policy of a page whose library embeds fonts and pictures in its style sheet. */
export const LIBRARY_POLICY = `${PAGE_POLICY.replace("img-src 'self'", "img-src 'self' data:")}; font-src data:`;

export const PAGE_TYPE = 'text/html; charset=utf-8';

export interface PageProps {
  title: string;
  /** Style sheets: page.css for our own pages, and others such as report.css. */
  styles?: string[];
  /** Scripts of `src/assets`, run once the document is parsed. */
  scripts?: string[];
  /** An address of this service to which the browser goes at once. */
  refresh?: string;
  children: ComponentChildren;
}

/** The style sheet of our pages. */
export const PAGE_STYLE = 'page.css';

/** The frame of every page: language, title, viewport, style sheet. Text in it is escaped. */
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

/** Control characters not allowed in a document (HTML, section 13.1.1 and 13.2.3.5). */
const UNFIT = /[\u0000-\u0008\u000b\u000e-\u001f\u007f-\u009f]/g;

export const pageText = (page: VNode): string =>
  `<!doctype html>\n${render(page).replace(UNFIT, '\uFFFD')}\n`;

/** The page as an answer: its text, with the headers of a page. Private to the reader; never cached. */
export const answerPage = (reply: FastifyReply, page: VNode, policy = PAGE_POLICY): string => {
  void reply
    .header('content-type', PAGE_TYPE)
    .header('content-security-policy', policy)
    .header('referrer-policy', 'same-origin') // without it browsers submit our forms with the origin null
    .header('cache-control', 'private, no-store');
  return pageText(page);
};
