import type { Command } from 'commander';

/** Options that declare the formats of a table. */
export const withTableOptions = (command: Command): Command =>
  command
    .option('--sheet <name>', 'sheet of a workbook that has several')
    .option('--encoding <name>', 'utf-8, utf-16le, utf-16be or windows-1252; else found')
    .option('--delimiter <c>', 'comma, semicolon, tab, pipe, or the character; else found')
    .option('--decimal <sign>', 'point or comma; else found')
    .option('--dates <order>', 'dmy, mdy or ymd; else found')
    .option('--time-zone <zone>', 'of times without an offset: +01:00, Europe/Zurich')
    .option('--chainages <form>', 'km+m, m or km; else found');
