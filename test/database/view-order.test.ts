import { inOrder } from '../../src/common/database/view-order.js';

const view = (name: string, sql: string): { name: string; sql: string } => ({
  name: `${name}.sql`,
  sql: `create or replace view ${name} as ${sql}`,
});
const names = (files: { name: string; sql: string }[]): string[] =>
  inOrder(files).map(({ name }) => name.replace('.sql', ''));

describe('the order of view files', () => {
  it('puts each after those that it reads, and others by name', () => {
    const files = [
      view('alone', 'select 1'),
      view('by_week', 'select * from total join lateral length_of(total.id) l on true'),
      view('total', 'select sum(length_m) from part'),
      view('part', 'select 1'),
      {
        name: 'length_of.sql',
        sql: 'create or replace function length_of(id int) returns int language sql as $$ select count(*) from part $$',
      },
    ];
    expect(names(files)).toEqual(['alone', 'part', 'total', 'length_of', 'by_week']);
    expect(names(files.toReversed())).toEqual(names(files));
  });

  it('does not read comments and quoted text', () => {
    const files = [
      view('a', "select 'from b' -- as from b\n from c"),
      view('b', 'select * from a'),
      view('c', 'select 1'),
    ];
    expect(names(files)).toEqual(['c', 'a', 'b']);
  });

  it('puts both functions of one name before what calls it', () => {
    const split = (file: string, parameters: string): { name: string; sql: string } => ({
      name: file,
      sql: `create or replace function split(${parameters}) returns int language sql as $$ select 1 $$`,
    });
    const files = [split('z.sql', 'a int'), view('m', 'select split(1)'), split('y.sql', 'a int, b int')];
    expect(inOrder(files).map(({ name }) => name)).toEqual(['y.sql', 'z.sql', 'm.sql']);
  });

  it('names views that read each other', () => {
    const files = [view('a', 'select * from b'), view('b', 'select * from c'), view('c', 'select * from b')];
    expect(() => inOrder(files)).toThrow('View files read each other: b.sql, c.sql, b.sql.');
  });

  it('names a file that creates nothing', () => {
    expect(() => inOrder([{ name: 'note.sql', sql: '-- later' }])).toThrow(
      'View file note.sql creates no view, function or aggregate.',
    );
  });
});
