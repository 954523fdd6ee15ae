import {
  type BoringMachine,
  type BoringValues,
  boringValues,
  type MeasuredBoring,
  readingValues,
} from '../../../engineering/stroke-values.js';

/** The values stored with a boring; for a drive without a machine, only those that need no machine data. */
export const valuesOf = (measured: MeasuredBoring, machine: BoringMachine | null): BoringValues => {
  if (machine) return boringValues(measured, machine);
  return {
    ...readingValues(measured),
    thrustPerDiscKn: null,
    fieldPenetrationIndex: null,
    specificEnergyMjPerM3: null,
    theoreticalTorqueKnm: null,
    torqueRatio: null,
    regularAdvance: null,
  };
};
