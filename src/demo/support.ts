import type { ShiftGround, ShiftSupport } from '../features/driving/shifts/shift-document.model.js';
import { localText } from './clock.js';
import { type Cut, groundWithin, type Standard, STANDARD_SUPPORT } from './ground.js';
import { chainageAt, SUPPORT_ITEMS } from './site.js';

/** Distances of L1 and L2 behind the face. [mm] */
const ZONE_BEHIND_MM = { L1: 5_200, L2: 43_000 };

/** Position in class C where the crew left a rib out: 151.900 + 9 × 1.700 m driven. [mm] */
export const FORGOTTEN_RIB_MM = 167_200;

/** Short bolts of the portal: rows every 1.70 m, three bolts per row; in this one the crew left the middle bolt out. [mm] */
export const PORTAL_ROWS_MM = [1700, 3400, 5100, 6800, 8500];
export const FORGOTTEN_BOLT_ROW_MM = 6800;

/** Counted from the start of the drive, so that roundings do not accumulate over the shifts. */
const countTo = (mm: number, perKm: number): number => Math.floor((mm * perKm) / 1_000_000);

const alongInterval = ({ fromMm, toMm }: Cut, standard: Standard, perKm: number): ShiftSupport[] => {
  const steps = countTo(toMm, perKm) - countTo(fromMm, perKm);
  if (steps === 0) return [];
  const { kind, unit } = SUPPORT_ITEMS[standard.item];
  const quantity = unit === 'nr' ? String(steps) : (steps / 10).toFixed(1);
  return [
    {
      ...lineOf(standard),
      from: chainageAt(fromMm),
      to: chainageAt(toMm),
      quantity,
      ...(kind === 'sprayed_concrete' ? { deliveredVolumeM3: quantity } : {}), // measured by delivery
    },
  ];
};

const atChainages = (cut: Cut, standard: Standard, everyMm: number, installedAt: number): ShiftSupport[] => {
  const first = cut.groundFromMm + Math.ceil((cut.fromMm - cut.groundFromMm) / everyMm) * everyMm;
  const count = Math.max(0, Math.ceil((cut.toMm - first) / everyMm));
  const places = Array.from({ length: count }, (_, index) => first + index * everyMm);
  return places
    .filter((mm) => mm !== FORGOTTEN_RIB_MM)
    .map((mm) => ({
      ...lineOf(standard),
      from: chainageAt(mm),
      quantity: '1',
      installedAt: localText(installedAt),
    }));
};

const lineOf = ({ item, zone, arc, thicknessMm }: Standard): Omit<ShiftSupport, 'from' | 'quantity'> => ({
  item,
  zone,
  arcFromDeg: arc[0],
  arcToDeg: arc[1],
  ...(thicknessMm ? { thicknessMm } : {}),
});

const inZone = (
  zone: keyof typeof ZONE_BEHIND_MM,
  faceFromMm: number,
  faceToMm: number,
  at: number,
): ShiftSupport[] => {
  const behind = (faceMm: number): number => Math.max(0, faceMm - ZONE_BEHIND_MM[zone]);
  return groundWithin(behind(faceFromMm), behind(faceToMm)).flatMap((cut) =>
    STANDARD_SUPPORT[cut.ground.supportedAs ?? cut.ground.groundClass]
      .filter((standard) => standard.zone === zone)
      .flatMap((standard) => [
        ...(standard.perKm ? alongInterval(cut, standard, standard.perKm) : []),
        ...(standard.everyMm ? atChainages(cut, standard, standard.everyMm, at) : []),
      ]),
  );
};

const portalRows = (faceFromMm: number, faceToMm: number, at: number): ShiftSupport[] =>
  PORTAL_ROWS_MM.filter(
    (mm) => mm >= faceFromMm - ZONE_BEHIND_MM.L1 && mm < faceToMm - ZONE_BEHIND_MM.L1,
  ).map((mm) => {
    const places = mm === FORGOTTEN_BOLT_ROW_MM ? ['340.00', '20.00'] : ['340.00', '0.00', '20.00'];
    return {
      item: 'BOLT-2',
      zone: 'L1',
      from: chainageAt(mm),
      quantity: String(places.length),
      arcPositionsDeg: places,
      installedAt: localText(at),
    };
  });

/** Support installed while the face moves: the standard of the class at each zone. */
export const supportOf = (faceFromMm: number, faceToMm: number, installedAt: number): ShiftSupport[] => [
  ...inZone('L1', faceFromMm, faceToMm, installedAt),
  ...inZone('L2', faceFromMm, faceToMm, installedAt),
  ...portalRows(faceFromMm, faceToMm, installedAt),
];

/** The ground encountered by the shift. */
export const groundOf = (faceFromMm: number, faceToMm: number): ShiftGround[] =>
  groundWithin(faceFromMm, faceToMm).map(({ fromMm, toMm, ground }) => ({
    from: chainageAt(fromMm),
    to: chainageAt(toMm),
    groundClass: ground.groundClass,
    lithology: ground.lithology,
    ...(ground.remark ? { remark: ground.remark } : {}),
  }));
