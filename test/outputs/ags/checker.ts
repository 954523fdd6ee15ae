import { DICTIONARY } from './dictionary.js';

// A checker for the rules of AGS 4.1.1, written from their text and independent of the export. It reports `rule: what`.

interface Group {
  name: string;
  headings: string[];
  units: string[];
  types: string[];
  rows: string[][];
}

const DESCRIPTORS = ['GROUP', 'HEADING', 'UNIT', 'TYPE', 'DATA'];

/** Fields of a line; undefined if they are not quoted or not separated by commas (rules 5 and 6). */
const fieldsOf = (line: string): string[] | undefined => {
  const fields: string[] = [];
  let at = 0;
  for (;;) {
    if (line[at] !== '"') return undefined;
    let text = '';
    for (at += 1; ; at += 1) {
      if (at >= line.length) return undefined;
      if (line[at] !== '"') text += line[at];
      else if (line[at + 1] === '"') {
        text += '"';
        at += 1;
      } else break;
    }
    fields.push(text);
    at += 1;
    if (at === line.length) return fields;
    if (line[at] !== ',') return undefined;
    at += 1;
  }
};

const DATES: Record<string, RegExp> = {
  'yyyy-mm-dd': /^\d{4}-(0\d|1[0-2])-([0-2]\d|3[01])$/,
  'yyyy-mm-ddThh:mm': /^\d{4}-(0\d|1[0-2])-([0-2]\d|3[01])T([01]\d|2[0-3]):[0-5]\d$/,
};

/** Whether a value matches a type (rule 8). */
const fits = (value: string, type: string, unit: string): boolean => {
  if (value === '') return true;
  const places = /^(\d)DP$/.exec(type)?.[1];
  if (places !== undefined)
    return new RegExp(`^-?\\d+${places === '0' ? '' : `\\.\\d{${places}}`}$`).test(value);
  if (type === 'DT') return DATES[unit]?.test(value) ?? false;
  if (type === 'T') return TIMES[unit]?.test(value) ?? false;
  const digits = /^(\d)SCI$/.exec(type)?.[1];
  if (digits !== undefined)
    return new RegExp(`^-?\\d${digits === '0' ? '' : `\\.\\d{${digits}}`}E[+-]?\\d+$`).test(value);
  return ['X', 'XN', 'ID', 'PA', 'PT', 'PU'].includes(type);
};

const TIMES: Record<string, RegExp> = { 'hh:mm:ss': /^\d{2,}:[0-5]\d:[0-5]\d$/, 'hh:mm': /^\d{2,}:[0-5]\d$/ };

const repeated = (texts: string[]): string[] => texts.filter((text, at) => texts.indexOf(text) !== at);

class Checker {
  readonly faults: string[] = [];
  private readonly groups: Group[] = [];

  constructor(private readonly text: string) {}

  check(): string[] {
    this.lines();
    for (const group of this.groups) {
      this.form(group);
      this.names(group);
      this.values(group);
      this.keys(group);
      this.parents(group);
    }
    this.whole();
    return this.faults;
  }

  private fault(rule: string, what: string): void {
    this.faults.push(`${rule}: ${what}`);
  }

  /** Rules 1, 2a, 3, 5, 6 and the order of rows (2b, 4). */
  private lines(): void {
    const foreign = /[^\x00-\x7f]/.exec(this.text)?.[0];
    if (foreign) this.fault('1', `${foreign} is not ASCII`);
    if (/(^|[^\r])\n|\r(?!\n)/.test(this.text)) this.fault('2a', 'a line does not end with CR LF');
    if (!this.text.endsWith('\r\n')) this.fault('2a', 'the last line does not end with CR LF');
    let below: string[] = [];
    for (const [index, line] of this.text.split('\r\n').entries()) {
      if (line === '') continue;
      const fields = fieldsOf(line);
      if (!fields) {
        this.fault('5', `line ${index + 1} is not of quoted fields with commas between them`);
        continue;
      }
      const [descriptor = '', ...values] = fields;
      if (!DESCRIPTORS.includes(descriptor)) this.fault('3', `line ${index + 1} begins with ${descriptor}`);
      const group = this.groups.at(-1);
      if (descriptor === 'GROUP') {
        if (values.length !== 1) this.fault('4', `line ${index + 1}: GROUP holds more than its name`);
        this.groups.push({ name: values[0] ?? '', headings: [], units: [], types: [], rows: [] });
        below = ['HEADING', 'UNIT', 'TYPE'];
      } else if (!group) this.fault('2', `line ${index + 1} stands before the first group`);
      else {
        const due = below.shift() ?? 'DATA';
        if (due !== descriptor) this.fault('2b', `${group.name}: ${descriptor} stands where ${due} is due`);
        if (descriptor === 'HEADING') group.headings = values;
        if (descriptor === 'UNIT') group.units = values;
        if (descriptor === 'TYPE') group.types = values;
        if (descriptor === 'DATA') group.rows.push(values);
      }
    }
    for (const name of repeated(this.groups.map((group) => group.name)))
      this.fault('2', `${name} stands twice`);
  }

  /** Rules 2 and 4. */
  private form({ name, headings, units, types, rows }: Group): void {
    if (rows.length === 0) this.fault('2', `${name} has no DATA`);
    for (const row of [units, types, ...rows])
      if (row.length !== headings.length)
        this.fault('4', `${name}: ${row.length} fields under ${headings.length} headings`);
  }

  /** Rules 7, 9, 19, 19a and 19b. */
  private names({ name, headings }: Group): void {
    if (!/^[A-Z]{4}$/.test(name)) this.fault('19', `${name} is not of four capitals`);
    const known = DICTIONARY[name];
    if (!known) this.fault('9', `${name} is not in the dictionary`);
    for (const heading of repeated(headings)) this.fault('7', `${heading} stands twice`);
    const places = headings.map(
      (heading) => known?.headings.findIndex((each) => each.name === heading) ?? -1,
    );
    for (const [at, heading] of headings.entries()) {
      if (!/^[A-Z0-9]{4}_[A-Z0-9]{1,4}$/.test(heading))
        this.fault('19a', `${heading} is no name of a heading`);
      if (known && places[at] === -1) this.fault('9', `${heading} is not in the dictionary of ${name}`);
    }
    if (places.some((place, at) => at > 0 && place <= (places[at - 1] ?? -1)))
      this.fault('7', `${name}: headings are not in the order of the dictionary`);
  }

  /** Rules 8 and 10b. */
  private values({ name, headings, units, types, rows }: Group): void {
    for (const row of rows)
      for (const [at, value] of row.entries()) {
        const [heading = '', type = ''] = [headings[at], types[at]];
        if (!fits(value, type, units[at] ?? ''))
          this.fault('8', `${heading} ${value} is not of type ${type}`);
        const required = DICTIONARY[name]?.headings.find((each) => each.name === heading)?.required;
        if (required && value === '') this.fault('10b', `${heading} is empty`);
      }
    for (const each of DICTIONARY[name]?.headings ?? [])
      if ((each.required || each.key) && !headings.includes(each.name))
        this.fault(each.key ? '10a' : '10b', `${name} has no ${each.name}`);
  }

  private keyed(group: Group, name: string): string[] {
    const keys = (DICTIONARY[name]?.headings ?? []).filter(({ key }) => key).map((each) => each.name);
    return group.rows.map((row) => JSON.stringify(keys.map((key) => row[group.headings.indexOf(key)] ?? '')));
  }

  /** Rule 10a. */
  private keys(group: Group): void {
    for (const key of repeated(this.keyed(group, group.name)))
      this.fault('10a', `${group.name}: ${key} stands twice`);
  }

  /** Rule 10c. */
  private parents(group: Group): void {
    const parent = DICTIONARY[group.name]?.parent ?? '-';
    if (parent === '-' || parent === 'PROJ') return;
    const above = this.groups.find(({ name }) => name === parent);
    const known = new Set(above ? this.keyed(above, parent) : []);
    for (const key of this.keyed(group, parent))
      if (!known.has(key)) this.fault('10c', `${group.name}: ${parent} ${key} is missing`);
  }

  private column(name: string, heading: string): string[] {
    const group = this.groups.find((each) => each.name === name);
    const at = group?.headings.indexOf(heading) ?? -1;
    return group?.rows.map((row) => row[at] ?? '') ?? [];
  }

  /** Rules 13 to 17. */
  private whole(): void {
    for (const [rule, name] of [
      ['13', 'PROJ'],
      ['14', 'TRAN'],
    ] as const)
      if (this.groups.find((group) => group.name === name)?.rows.length !== 1)
        this.fault(rule, `${name} does not have one row`);
    const units = this.column('UNIT', 'UNIT_UNIT');
    const types = this.column('TYPE', 'TYPE_TYPE');
    const codes = this.column('ABBR', 'ABBR_CODE');
    const abbreviations = this.column('ABBR', 'ABBR_HDNG').map((heading, at) => `${heading} ${codes[at]}`);
    if (units.length === 0) this.fault('15', 'there is no group UNIT');
    if (types.length === 0) this.fault('17', 'there is no group TYPE');
    for (const group of this.groups) {
      for (const unit of group.units)
        if (unit !== '' && !units.includes(unit)) this.fault('15', `unit ${unit} is not listed`);
      for (const [at, type] of group.types.entries()) {
        if (!types.includes(type)) this.fault('17', `type ${type} is not listed`);
        if (type !== 'PA') continue;
        for (const row of group.rows)
          if (row[at] && !abbreviations.includes(`${group.headings[at]} ${row[at]}`))
            this.fault('16', `${group.headings[at]} ${row[at]} is not listed`);
      }
    }
  }
}

/** The rules that a file breaks; empty if it keeps them. */
export const agsFaults = (text: string): string[] => new Checker(text).check();

/** The rows of a group by their headings. */
export const agsRows = (text: string, name: string): Record<string, string>[] => {
  const part = text.split('\r\n\r\n').find((each) => each.startsWith(`"GROUP","${name}"`));
  const [, headings = [], , , ...rows] = (part ?? '')
    .split('\r\n')
    .filter((line) => line !== '')
    .map((line) => fieldsOf(line)?.slice(1) ?? []);
  return rows.map((row) => Object.fromEntries(headings.map((heading, at) => [heading, row[at] ?? ''])));
};
