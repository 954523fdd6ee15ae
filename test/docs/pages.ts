import { readdirSync, readFileSync } from 'node:fs';
import path from 'node:path';
import { packageRoot } from '../../src/common/package-root.js';

/** A fenced block of a page. */
export interface Block {
  /** Page and line of its first line, such as README.md:20. */
  place: string;
  language: string;
  text: string;
  /** Why it is not run, from the comment before it: `<!-- not run: reason -->`. */
  notRun?: string;
}

const FENCE = /(?:^<!-- not run: (?<notRun>.+?) -->\n\n)?^```(?<language>\w*)\n(?<text>[\s\S]*?)^```$/gm;

export const page = (name: string): string => readFileSync(path.join(packageRoot, name), 'utf8');

export const blocksOf = (name: string): Block[] => {
  const text = page(name);
  return [...text.matchAll(FENCE)].map(({ index, groups = {} }) => {
    const { language = '', text: body = '', notRun } = groups;
    const opening = text.indexOf(`\`\`\`${language}\n`, index);
    const line = text.slice(0, opening).split('\n').length + 1;
    return { place: `${name}:${line}`, language, text: body, ...(notRun ? { notRun } : {}) };
  });
};

const INDEX = 'docs/README.md';

/** The pages of the guide in the order of the index; later commands build on earlier ones. */
export const guide = [...page(INDEX).matchAll(/\]\((guide\/[\w-]+\.md)\)/g)].map(
  ([, name = '']) => `docs/${name}`,
);

/** Every page of the repository. */
export const pages = ['.', 'docs', 'test']
  .flatMap((folder) =>
    readdirSync(path.join(packageRoot, folder), { recursive: folder !== '.' }).map((file) =>
      path.join(folder, String(file)),
    ),
  )
  .filter((file) => file.endsWith('.md'));
