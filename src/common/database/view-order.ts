/** A file of views: one object, which its SQL creates. */
export interface ViewFile {
  /** Path below the folder of views, as `driving/stroke.sql`. */
  name: string;
  sql: string;
}

const CREATED = /^\s*create (?:or replace )?(?:view|function|aggregate)\s+(?:\w+\.)?(\w+)/im;

/** Comments and quoted text: words in these are no names. The bodies of functions between `$$` are kept. */
const UNREAD = /--[^\n]*|'(?:[^']|'')*'/g;

interface Created {
  file: ViewFile;
  /** Of the object: functions of one name and different arguments stand in a file each. */
  object: string;
  /** As it reads others. */
  read: string;
}

const createdBy = (file: ViewFile): Created => {
  const [, object] = CREATED.exec(file.sql) ?? [];
  if (object === undefined) throw new Error(`View file ${file.name} creates no view, function or aggregate.`);
  return { file, object, read: file.sql.replace(UNREAD, ' ') };
};

/** Every name that could be an object in this SQL: what follows `from`, `join` or `setof`, and what is called. */
const namesIn = (read: string): Set<string> =>
  new Set(
    [...read.matchAll(/\b(?:from|join|setof)\s+(?:lateral\s+)?(?:only\s+)?(\w+)\b|\b(\w+)\s*\(/gi)].flatMap(
      ([, named, called]) => [named ?? called ?? ''],
    ),
  );

/**
 * The files in an order in which each finds what it reads: found from their SQL, so that a file has no number. Of two that do not read each
 * other the one of the lesser name comes first.
 * @throws Error naming the files that read each other in a circle
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
