/** Descriptions of units, types and abbreviations for the groups UNIT, TYPE and ABBR, as in the standard dictionary where it has them. */

export const UNIT_WORDS: Record<string, string> = {
  m: 'metre',
  mm: 'millimetre',
  deg: 'degree (angle)',
  'l/s': 'litres per second',
  'm/s': 'metres per second',
  'm/hr': 'metres per hour',
  '%': 'percentage',
  'yyyy-mm-dd': 'year month day',
  'yyyy-mm-ddThh:mm': 'year month day hours minutes',
  'hh:mm:ss': 'hours minutes seconds',
};

export const TYPE_WORDS: Record<string, string> = {
  X: 'Text',
  XN: 'Text / numeric',
  ID: 'Unique identifier',
  PA: 'Text listed in ABBR group',
  PU: 'Text listed in UNIT group',
  PT: 'Text listed in TYPE group',
  DT: 'Date time in international format',
  T: 'Elapsed time',
  '2SCI': 'Scientific Notation; required number of decimal places, 2',
  '0DP': 'Value; required number of decimal places, 0',
  '1DP': 'Value; required number of decimal places, 1',
  '2DP': 'Value; required number of decimal places, 2',
  '3DP': 'Value; required number of decimal places, 3',
  '4DP': 'Value; required number of decimal places, 4',
};

/** By heading and code. Codes of DISC_TYPE other than Joint are specific to this file. */
export const ABBR_WORDS: Record<string, Record<string, string>> = {
  LOCA_TYPE: {
    TRAV: 'Linear logging traverse or scanline survey',
    EH: 'Exploratory Hole',
    RC: 'Rotary cored',
  },
  IPRG_TYPE: { 'Water Pressure': 'Water Pressure test' },
  DISC_TYPE: {
    Joint: 'Joint',
    Bedding: 'Bedding',
    Foliation: 'Foliation',
    Fault: 'Fault',
    'Shear zone': 'Shear zone',
    Vein: 'Vein',
    Contact: 'Contact',
  },
};
