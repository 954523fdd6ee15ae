/** A view file: the SQL of one object. */
export interface ViewFile {
  /** Path below the folder of views, such as `driving/stroke.sql`. */
  name: string;
  sql: string;
}

const CREATED = /^\s*create (?:or replace )?(?:view|function|aggregate)\s+(?:\w+\.)?(\w+)/im;

/** Comments and quoted text: words in them are not names. Function bodies between `$$` are kept. */
const UNREAD = /--[^\n]*|'(?:[^']|'')*'/g;

interface Created {
  file: ViewFile;
  /** Name of the object: functions with one name and different arguments have a file each. */
  object: string;
  /** The SQL as searched for names of others. */
  read: string;
}

const createdBy = (file: ViewFile): Created => {
  const [, object] = CREATED.exec(file.sql) ?? [];
  if (object === undefined) throw new Error(`View file ${file.name} creates no view, function or aggregate.`);
  return { file, object, read: file.sql.replace(UNREAD, ' ') };
};

/** Every name in this SQL that could be an object: after `from`, `join` or `setof`, and of function calls. */
const namesIn = (read: string): Set<string> =>
  new Set(
    [...read.matchAll(/\b(?:from|join|setof)\s+(?:lateral\s+)?(?:only\s+)?(\w+)\b|\b(\w+)\s*\(/gi)].flatMap(
      ([, named, called]) => [named ?? called ?? ''],
    ),
  );

/**
 * The files in an order in which each comes after those it reads, found from their SQL, so that files need no numbers. Of two that
 * do not read each other, the one with the lesser name comes first.
 * @throws Error naming files that read each other in a circle
 */
export const inOrder = (files: readonly ViewFile[]): ViewFile[] => {
  const created = files.toSorted((a, b) => (a.name < b.name ? -1 : 1)).map(createdBy);
  const makers = new Map<string, Created[]>();
  for (const one of created) makers.set(one.object, [...(makers.get(one.object) ?? []), one]);
  const ordered = new Set<ViewFile>();
  const place = (one: Created, readers: Created[]): void => {
    if (ordered.has(one.file)) return;
    if (readers.includes(one))
      throw new Error(
        `View files read each other: ${[...readers.slice(readers.indexOf(one)), one].map(({ file }) => file.name).join(', ')}.`,
      );
    for (const name of namesIn(one.read)) {
      if (name === one.object) continue;
      for (const other of makers.get(name) ?? []) place(other, [...readers, one]);
    }
    ordered.add(one.file);
  };
  for (const one of created) place(one, []);
  return [...ordered];
};
