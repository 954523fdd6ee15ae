import { getMetadataStorage, IsInt, IsString, validateSync } from 'class-validator';
import '../../src/common/api/remembered-rules.js';

class Base {
  @IsInt()
  n: unknown = 'none';

  @IsInt({ groups: ['other'] })
  ofGroup: unknown = 'none';
}

class Derived extends Base {
  @IsString()
  s: unknown = 1;
}

const refused = (value: object, groups?: string[]): string[] =>
  validateSync(value, groups ? { groups } : {})
    .map(({ property }) => property)
    .sort();

it('the rules of a class are its own and those of its base classes, each time and in any order of lookup', () => {
  for (let time = 0; time < 2; time += 1) {
    expect(refused(new Derived())).toEqual(['n', 'ofGroup', 's']);
    expect(refused(new Base())).toEqual(['n', 'ofGroup']);
    expect(refused(new Derived(), ['other'])).toEqual(['ofGroup']);
  }
});

it('are looked up once', () => {
  const storage = getMetadataStorage();
  const rules = () => storage.getTargetValidationMetadatas(Derived, '', false, false);
  const known = rules();
  expect(known.length).toBeGreaterThan(2);
  expect(rules()).toBe(known);
});
