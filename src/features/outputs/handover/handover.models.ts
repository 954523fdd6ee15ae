import { InputType } from '@nestjs/graphql';
import { CodeField } from '../../../common/api/fields.js';

@InputType({ description: 'What a handover package is to hold.' })
export class HandoverInput {
  @CodeField({
    description:
      'Code of the drive that the package is of; without it, the whole project. The package of a drive cannot be read into a service',
    optional: true,
  })
  drive?: string;
}
