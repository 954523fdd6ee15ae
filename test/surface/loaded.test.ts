import { existsSync, readFileSync } from 'node:fs';
import path from 'node:path';
import { packageRoot } from '../../src/common/package-root.js';

// What the service loads at start-up, found by its static imports: libraries that only some jobs need stay out of its memory.

const IMPORTS = /^(?:import|export)\s(?!type\b)(?:[^'";]*?\sfrom\s)?'([^']+)';/gm;

/** The file to which an import of a source refers. */
const sourceOf = (from: string, name: string): string | undefined => {
  const file = path.resolve(path.dirname(from), name).replace(/\.js$/, '');
  return [`${file}.ts`, `${file}.tsx`, `${file}.js`].find((each) => existsSync(each));
};

/** Whether an import is of types only, and so removed by the compiler. */
const isOfTypes = (statement: string): boolean => {
  const names = /^import\s\{([^}]*)\}/.exec(statement)?.[1]?.split(',') ?? [];
  const written = names.map((name) => name.trim()).filter((name) => name !== '');
  return written.length > 0 && written.every((name) => name.startsWith('type '));
};

const librariesOf = (start: string): Map<string, string> => {
  const libraries = new Map<string, string>();
  const seen = new Set([start]);
  for (const file of seen)
    for (const [statement, name = ''] of readFileSync(file, 'utf8').matchAll(IMPORTS)) {
      if (isOfTypes(statement)) continue;
      const source = name.startsWith('.') ? sourceOf(file, name) : undefined;
      if (source) seen.add(source);
      else if (!name.startsWith('.')) libraries.set(name, path.relative(packageRoot, file));
    }
  return libraries;
};

it('the service loads nothing that writes PDFs, workbooks, pictures or Parquet at its start', () => {
  const libraries = librariesOf(path.join(packageRoot, 'src', 'app.ts'));
  expect(libraries.has('@nestjs/core')).toBe(true);
  expect(
    [...libraries].filter(([name]) =>
      /^(pdfkit|fontkit|apache-arrow|parquet-wasm|echarts|@resvg|woff2|exceljs)/.test(name),
    ),
  ).toEqual([]);
});
