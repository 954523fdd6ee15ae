import { registerEnum } from '../../../common/api/enums.js';
import { ShiftState } from '../../../generated/prisma/enums.js';

registerEnum(ShiftState, {
  name: 'ShiftState',
  description:
    'draft: may have gaps. submitted: every minute and metre is accounted for. countersigned: someone other than those who posted it has agreed; it is locked.',
  values: {
    draft: 'May have gaps',
    submitted: 'Every minute and metre is accounted for',
    countersigned: 'Agreed by someone other than those who posted it: locked',
  },
});
