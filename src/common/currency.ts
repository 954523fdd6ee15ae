/**
 * Currencies whose number of decimals is not two, ISO 4217 (list one). Not taken from Intl, which gives the decimals customary in
 * cash (none for the forint or the rupiah) and changes between Node versions; the decimals of money must not change.
 */
const MINOR_UNITS: Record<number, string> = {
  0: 'BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX UYI VND VUV XAF XOF XPF',
  3: 'BHD IQD JOD KWD LYD OMR TND',
  4: 'CLF UYW',
};

const OTHER_THAN_TWO = new Map(
  Object.entries(MINOR_UNITS).flatMap(([units, codes]) =>
    codes.split(' ').map((code) => [code, Number(units)] as const),
  ),
);

const KNOWN = new Set([...Intl.supportedValuesOf('currency'), ...OTHER_THAN_TWO.keys()]);

/** Decimals of amounts in a currency, by its ISO 4217 code; undefined for an unknown code. */
export const minorUnitsOf = (currency: string): number | undefined =>
  KNOWN.has(currency) ? (OTHER_THAN_TWO.get(currency) ?? 2) : undefined;
