import { registerEnumType } from '@nestjs/graphql';
import { SupportZone } from '../../generated/prisma/enums.js';

registerEnumType(SupportZone, {
  name: 'SupportZone',
  description: 'L1: the working area behind the cutterhead. L2: the working area on the back-up.',
});
