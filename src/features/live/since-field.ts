import { IntField } from '../../common/api/fields.js';

/** Where a subscription goes on after a break. */
export const SinceField = (): PropertyDecorator =>
  IntField({
    description:
      'Number of the last change that was received: those after it come first, none lost and none twice. Without it, only what happens from now on',
    min: 0,
    max: Number.MAX_SAFE_INTEGER,
    optional: true,
  });
