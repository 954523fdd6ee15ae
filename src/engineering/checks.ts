/**
 * Figures to check, by name. Pass them in shorthand, `{ rotationRpm }`, so that the message contains the name of the parameter.
 */
type Figures = Readonly<Record<string, number>>;

const demand = (figures: Figures, rule: string, holds: (figure: number) => boolean): void => {
  for (const [name, figure] of Object.entries(figures)) {
    if (!holds(figure)) throw new RangeError(`${name} is ${figure}; it must be ${rule}.`);
  }
};

/** Throws a RangeError unless every figure is a finite number. */
export const requireFinite = (figures: Figures): void => demand(figures, 'a finite number', Number.isFinite);

/** Throws a RangeError unless every figure is finite and 0 or more. */
export const requireZeroOrMore = (figures: Figures): void =>
  demand(figures, 'a finite number, 0 or more', (figure) => Number.isFinite(figure) && figure >= 0);

/** Throws a RangeError unless every figure is finite and above 0. */
export const requireAboveZero = (figures: Figures): void =>
  demand(figures, 'a finite number above 0', (figure) => Number.isFinite(figure) && figure > 0);

/** Throws a RangeError unless every figure is a whole number above 0. */
export const requireCount = (figures: Figures): void =>
  demand(figures, 'a whole number above 0', (figure) => Number.isSafeInteger(figure) && figure > 0);

/** Returns a result; throws a RangeError if it is not finite, for instance after division by a number close to 0. */
export const finiteResult = (name: string, value: number): number => {
  requireFinite({ [name]: value });
  return value;
};
