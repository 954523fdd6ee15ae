/**
 * Currencies whose amounts have other than two decimals, ISO 4217 (list one). Not taken from Intl: it gives the decimals that
 * are usual in cash (none for the forint or the rupiah), and they move from one Node to the next. Money must not.
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

/** Decimals of an amount in a currency, by its ISO 4217 code; undefined for a code that is none. */
export const minorUnitsOf = (currency: string): number | undefined =>
  KNOWN.has(currency) ? (OTHER_THAN_TWO.get(currency) ?? 2) : undefined;
