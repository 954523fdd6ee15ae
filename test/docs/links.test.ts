import { existsSync, readdirSync } from 'node:fs';
import path from 'node:path';
import { packageRoot } from '../../src/common/package-root.js';
import { guide, page, pages } from './pages.js';

const withoutCode = (text: string): string =>
  text.replace(/^```[\s\S]*?^```$/gm, '').replace(/`[^`\n]+`/g, 'x');

/** The anchors of a page as GitHub makes them: https://docs.github.com/en/get-started/writing-on-github, "Section links". */
const anchorsOf = (text: string): Set<string> => {
  const anchors = new Set<string>();
  for (const [, heading = ''] of text.replace(/^```[\s\S]*?^```$/gm, '').matchAll(/^#{1,6} (.+)$/gm)) {
    const slug = heading
      .replace(/\]\([^)]*\)/g, '')
      .toLowerCase()
      .replace(/[^\p{L}\p{N}\s_-]/gu, '')
      .replaceAll(' ', '-');
    let anchor = slug;
    for (let more = 1; anchors.has(anchor); more += 1) anchor = `${slug}-${more}`;
    anchors.add(anchor);
  }
  return anchors;
};

const brokenLinks = (name: string): string[] =>
  [...withoutCode(page(name)).matchAll(/\]\(([^)\s]+)\)|^\[[^\]]+\]: (\S+)/gm)]
    .map(([, inline, reference]) => inline ?? reference ?? '')
    .filter((target) => !/^[a-z]+:/.test(target))
    .filter((target) => {
      const [file = '', anchor] = target.split('#');
      const found = file === '' ? name : path.join(path.dirname(name), decodeURIComponent(file));
      if (!existsSync(path.join(packageRoot, found))) return true;
      return anchor !== undefined && !anchorsOf(page(found)).has(anchor);
    })
    .map((target) => `${name}: ${target}`);

describe('documentation', () => {
  it('has no link to a file or heading that does not exist', () => {
    expect(pages).toContain('README.md');
    expect(pages.flatMap(brokenLinks)).toEqual([]);
  });

  it('lists every page of the guide in its index, once', () => {
    const files = readdirSync(path.join(packageRoot, 'docs', 'guide')).map((file) => `docs/guide/${file}`);
    expect(guide.toSorted()).toEqual(files.toSorted());
  });

  it('names the features of each area as the folders do', () => {
    const named = Object.fromEntries(
      page('docs/areas.md')
        .split(/^## /m)
        .flatMap((section) => {
          const features = /^- Features: (.+)$/m.exec(section)?.[1]?.match(/[\w-]+/g);
          return features ? [[section.split('\n')[0]?.toLowerCase() ?? '', features.toSorted()]] : [];
        }),
    );
    const folder = path.join(packageRoot, 'src', 'features');
    expect(named).toEqual(
      Object.fromEntries(
        readdirSync(folder).map((area) => [area, readdirSync(path.join(folder, area)).toSorted()]),
      ),
    );
  });

  it('opens with a README of at most 200 lines', () => {
    expect(page('README.md').split('\n').length).toBeLessThanOrEqual(201);
  });
});
