/**
 * Who may do what, written by hand: V viewer, P shift poster, G geologist, E engineer, Q quantity surveyor,
 * A administrator of the project, S supervisor for the client. Independent of the code, as a customer would write it on a sheet.
 */
export const READ = 'VPGEQAS';
export const POST = 'PE';
export const IMPORT = 'E';
export const SIGN = 'ES';
export const PROBE = 'PGE';
export const ATTACH = 'PGE';
export const WARNED = 'PGES';
export const CATALOGUE = 'EA';
export const PROPOSE = 'GE';
export const AGREE = 'EQS';
export const MAP = 'GE';
export const PAST = 'GEQAS';
export const MEASURE = 'Q';
export const BILL = 'Q';

export type Right = [route: string, who: string];
