import { ObjectType } from '@nestjs/graphql';
import { registerEnum } from '../../../common/api/enums.js';
import { CodeField, EnumField, IntField } from '../../../common/api/fields.js';

export const ContestedState = { proposed: 'proposed', disputed: 'disputed', noted: 'noted' } as const;
export type ContestedState = (typeof ContestedState)[keyof typeof ContestedState];

registerEnum(ContestedState, {
  name: 'ContestedState',
  description:
    'proposed, disputed: a class decision that is not agreed. noted: a note of a shift that is not countersigned.',
  values: {
    proposed: 'By a class decision that is proposed',
    disputed: 'By a class decision that is disputed',
    noted: 'By a note of a shift that is not countersigned',
  },
});

@ObjectType({
  description:
    'A class that does not govern: of a class decision that is not agreed. What it would change in payment is held.',
})
export class ContestedClass {
  @IntField({ description: 'Number of the class decision; absent for a note', optional: true })
  number?: number;

  @EnumField({ description: 'Its state', values: ContestedState, name: 'ContestedState' })
  state: ContestedState;

  @CodeField({ description: 'Its ground class' })
  groundClass: string;
}

/** From the columns contested_number, contested_state and contested_class_code. */
export const CONTESTED = `case when contested_number is not null
  then json_build_object('number', contested_number, 'state', contested_state, 'groundClass', contested_class_code) end`;
