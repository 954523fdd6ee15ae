import { readdirSync } from 'node:fs';
import path from 'node:path';
import { packageRoot } from '../package-root.js';

/** Runs SQL on a migrated database. @returns its rows */
export type Ask = (sql: string) => Promise<unknown[]>;

interface Column {
  name: string;
  type: string;
  text: string;
}

interface View {
  name: string;
  text: string;
  columns: Column[];
}

interface Fn {
  name: string;
  arguments: string;
  result: string;
  text: string;
}

const VIEWS = `
  select c.relname as name, obj_description(c.oid, 'pg_class') as text,
    json_agg(json_build_object('name', a.attname, 'type', format_type(a.atttypid, a.atttypmod), 'text', col_description(c.oid, a.attnum))
      order by a.attnum) as columns
  from pg_class c join pg_attribute a on a.attrelid = c.oid and a.attnum > 0 and not a.attisdropped
  where c.relnamespace = 'report'::regnamespace and c.relkind = 'v'
  group by c.oid, c.relname order by c.relname collate "C"`;

/** Functions for people: their first argument is the code of a project. Those that take an id serve views. */
const FUNCTIONS = `
  select p.proname as name, pg_get_function_arguments(p.oid) as arguments, pg_get_function_result(p.oid) as result,
    obj_description(p.oid, 'pg_proc') as text
  from pg_proc p
  where p.pronamespace = 'report'::regnamespace and p.proargtypes[0] = 'text'::regtype and p.proargnames[1] = 'project'
  order by p.proname collate "C", 2`;

/** Folder of prisma/views by object: each file there bears the name of the object it creates. */
const areaByObject = (): Map<string, string> => {
  const folder = path.join(packageRoot, 'prisma', 'views');
  return new Map(
    readdirSync(folder, { withFileTypes: true })
      .filter((entry) => entry.isDirectory())
      .flatMap(({ name: area }) =>
        readdirSync(path.join(folder, area)).map((file): [string, string] => [path.parse(file).name, area]),
      ),
  );
};

const cell = (text: string): string => text.replaceAll('|', '\\|').replaceAll('\n', ' ');

const viewText = ({ name, text, columns }: View): string =>
  [
    `### ${name}`,
    '',
    text,
    '',
    '| column | type | holds |',
    '| --- | --- | --- |',
    ...columns.map((column) => `| \`${column.name}\` | ${column.type} | ${cell(column.text)} |`),
  ].join('\n');

const RETURNED = /^TABLE\((.*)\)$/;

const functionText = ({ name, arguments: takes, result, text }: Fn): string => {
  const columns = RETURNED.exec(result)?.[1] ?? result.replace(/^SETOF /, '');
  return [`### ${name}`, '', text, '', `\`report.${name}(${takes})\` returns \`${columns}\`.`].join('\n');
};

const title = (area: string): string => `${area[0]?.toUpperCase() ?? ''}${area.slice(1)}`;

/** docs/views.md: the views of schema `report` with their columns, and the functions for a project, by area, from the database catalogue. */
export const viewsPage = async (ask: Ask): Promise<string> => {
  const areas = areaByObject();
  const byArea = new Map<string, string[]>();
  const put = (name: string, text: string): void => {
    const area = areas.get(name) ?? 'common';
    byArea.set(area, [...(byArea.get(area) ?? []), text]);
  };
  for (const view of (await ask(VIEWS)) as View[]) put(view.name, viewText(view));
  for (const each of (await ask(FUNCTIONS)) as Fn[]) put(each.name, functionText(each));
  const ordered = [...byArea].sort(([one], [other]) => (one < other ? -1 : 1));
  return [
    '# Views of schema report',
    '',
    'Generated from the comments of the database by `npm run docs:views`. How to connect, and where to begin: [SQL and BI](guide/sql.md). How each figure is computed: [calculations](calculations.md).',
    '',
    ...ordered.map(([area]) => `- [${title(area)}](#${area})`),
    '',
    ...ordered.flatMap(([area, texts]) => [`## ${title(area)}`, '', ...texts.flatMap((text) => [text, ''])]),
  ].join('\n');
};
