import { IntField } from '../../../common/api/fields.js';

/** Where a subscription goes on after a break. */
export const SinceField = (): PropertyDecorator =>
  IntField({
    description:
      'Number of the last change that was received: the later ones are sent first, each exactly once. Without it, only what happens from now on',
    min: 0,
    max: Number.MAX_SAFE_INTEGER,
    optional: true,
  });
