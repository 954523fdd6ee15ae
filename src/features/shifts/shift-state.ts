import { registerEnumType } from '@nestjs/graphql';
import { ShiftState } from '../../generated/prisma/enums.js';

registerEnumType(ShiftState, {
  name: 'ShiftState',
  description:
    'draft: may have gaps. submitted: every minute and metre is accounted for. countersigned: someone other than those who posted it has agreed; it is locked.',
});
