import { createRequire } from 'node:module';
import axe, { type AxeResults } from 'axe-core';
import { JSDOM } from 'jsdom';

/** A page parsed as by a browser; nothing is loaded or run. */
export const read = (html: string): Document => new JSDOM(html).window.document;

/** The text of an element, with single blanks. */
export const textOf = (element: Element | null): string => {
  const texts: string[] = [];
  const gather = (node: Node): void => {
    if (node.nodeType === 3) texts.push(node.nodeValue ?? '');
    node.childNodes.forEach(gather);
  };
  if (element) gather(element);
  return texts.join(' ').replace(/\s+/g, ' ').trim();
};

const source = createRequire(import.meta.url).resolve('axe-core');

/**
 * Accessibility faults found by axe-core for keyboard and screen reader users. Contrast needs a browser that renders: it was checked in
 * Chromium.
 */
export const findings = async (html: string): Promise<string[]> => {
  const { window } = new JSDOM(html, { runScripts: 'outside-only', pretendToBeVisual: true });
  window.eval(axe.source);
  const { violations, passes } = (await (window as unknown as { axe: typeof axe }).axe.run(window.document, {
    rules: { 'color-contrast': { enabled: false } },
  })) as AxeResults;
  window.close();
  if (passes.length < 10) throw new Error(`axe-core (${source}) has looked at nothing`);
  return violations.map(({ id, nodes }) => `${id}: ${nodes.map((node) => node.html).join(' ')}`);
};
