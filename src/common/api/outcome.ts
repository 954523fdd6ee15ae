import { registerEnum } from './enums.js';

/** What a PUT did. */
export enum Outcome {
  created = 'created',
  replaced = 'replaced',
  unchanged = 'unchanged',
}

registerEnum(Outcome, {
  name: 'Outcome',
  description: 'What a write did.',
  values: {
    created: 'It did not exist and was made',
    replaced: 'It existed and was replaced',
    unchanged: 'It already existed exactly as sent',
  },
});
