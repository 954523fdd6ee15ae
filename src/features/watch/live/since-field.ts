import { IntField } from '../../../common/api/fields.js';

/** From where a subscription continues after an interruption. */
export const SinceField = (): PropertyDecorator =>
  IntField({
    description:
      'Number of the last change that was received: the later ones are sent first, each exactly once. Without it, only what happens from now on',
    min: 0,
    max: Number.MAX_SAFE_INTEGER,
    optional: true,
  });
