import type { AcceptanceRuleInput } from '../features/driving/acceptance/acceptance.models.js';
import type { CalendarInput, ClosureInput } from '../features/site/calendar/calendar.models.js';
import type { DiscontinuityInput } from '../features/ground/discontinuities/discontinuity.models.js';
import type { EntitlementInput } from '../features/payment/entitlements/entitlement.models.js';
import type { OverbreakInput } from '../features/ground/overbreak/overbreak.models.js';
import type { DesignSectionInput } from '../features/support/support-standard/standard.models.js';
import type { ZoneInput } from '../features/support/zones/zone.model.js';
import { BASELINE } from './contract.js';
import { chainageAt } from './site.js';
import { listOf } from './standards.js';

// Other records of a site: zones and dated calendars, an agreed acceptance rule, time entitlement, and measurements at the fault.

export const ZONES: Record<string, ZoneInput> = {
  L3: { name: 'Finishing works behind the back-up', fromBehindM: '120.000' },
};

/** After Easter the site works three eight-hour shifts. */
export const NEXT_CALENDAR = {
  validFrom: '2021-04-06',
  input: {
    shifts: [
      { name: 'early', startTime: '06:00', endTime: '14:00', weekdays: [1, 2, 3, 4, 5, 6] },
      { name: 'late', startTime: '14:00', endTime: '22:00', weekdays: [1, 2, 3, 4, 5, 6] },
      { name: 'night', startTime: '22:00', endTime: '06:00', weekdays: [1, 2, 3, 4, 5, 6] },
    ],
  } satisfies CalendarInput,
};

export const CLOSURES: Record<string, ClosureInput> = {
  EASTER: { name: 'Easter', fromDate: '2021-04-02', toDate: '2021-04-05', planned: true },
};

export const ACCEPTANCE = {
  validFrom: '2021-03-01',
  input: {
    days: 28,
    clause: 'Clause DEMO-12 (invented): accepted unless answered within 28 days; silence pays nothing',
  } satisfies AcceptanceRuleInput,
};

/** The first metres have a design of their own: the support of the class, and a pattern of short bolts in the crown. */
export const PORTAL = {
  name: 'PORTAL',
  input: {
    from: chainageAt(0),
    to: chainageAt(10_200),
    edition: 'Drawing DEMO-110 (invented)',
    items: [
      ...listOf('B'),
      {
        item: 'BOLT-2',
        zone: 'L1',
        spacingM: '1.700',
        toleranceM: '0.100',
        aroundSpacingM: '1.300',
        aroundToleranceM: '0.100',
        fromDeg: '330.00',
        toDeg: '30.00',
      },
    ],
  } satisfies DesignSectionInput,
};

export const ENTITLEMENT = {
  name: 'TIME-1',
  input: {
    rule: 'difference',
    baseline: BASELINE.code,
    tenderedWeeks: '9.0000',
    workingHoursPerWeek: '140.00',
    items: [
      {
        code: 'WAITING',
        source: 'activity_hours',
        reference: 'WAITING',
        hoursPerUnit: '1.000000',
        tenderedQuantity: '10.000',
      },
    ],
  } satisfies EntitlementInput,
};

export const DISCONTINUITIES: Record<string, DiscontinuityInput> = {
  'F-1': {
    chainage: chainageAt(190_200),
    type: 'fault',
    dipDeg: '62.00',
    dipDirectionDeg: '118.00',
    apertureMm: '40.00',
    roughness: 'slickensided',
    infillingMaterial: 'gouge',
  },
  'J-1': {
    chainage: chainageAt(191_400),
    type: 'joint',
    dipDeg: '74.00',
    dipDirectionDeg: '205.00',
    set: 'J1',
    spacingM: '0.200',
  },
};

export const OVERBREAK: Record<string, OverbreakInput> = {
  'OB-1': {
    from: chainageAt(189_500),
    to: chainageAt(191_500),
    cause: 'geological',
    areaM2: '1.800',
    maxDepthM: '0.60',
    arcFromDeg: '315.00',
    arcToDeg: '30.00',
  },
};

/** A note attached to the ground log, as a file. */
export const NOTE = {
  fileName: 'face-note.txt',
  text: 'Face note (invented): crushed schist with gouge on F-1, ravelling between 10 and 1 o’clock until the mesh was in.\n',
  fields: {
    caption: 'Face note at the fault',
    from: chainageAt(190_000),
    to: chainageAt(191_500),
  },
};
