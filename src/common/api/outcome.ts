import { registerEnumType } from '@nestjs/graphql';

/** What a PUT did. */
export enum Outcome {
  created = 'created',
  replaced = 'replaced',
  unchanged = 'unchanged',
}

registerEnumType(Outcome, { name: 'Outcome', description: 'What a write did.' });
