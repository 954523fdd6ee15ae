import { applyDecorators } from '@nestjs/common';
import { ApiProperty } from '@nestjs/swagger';
import { Transform } from 'class-transformer';
import { IsBoolean, IsOptional, IsString, ValidateBy } from 'class-validator';

/** A part of a form that is a file. @param example  an example name, shown when no file was sent */
export const IsFile = (example: string): PropertyDecorator =>
  ValidateBy({
    name: 'isFile',
    validator: {
      validate: (value: unknown) => Buffer.isBuffer(value),
      defaultMessage: () => `$property must be sent as a file: curl -F $property=@${example}`,
    },
  });

/** An empty form field counts as absent. */
export const EmptyIsAbsent = (): PropertyDecorator =>
  Transform(({ value }: { value: unknown }) => (value === '' ? undefined : value));

const TRUTH = new Map<unknown, boolean>([
  ['true', true],
  ['false', false],
]);

/** A part of a form that is true or false. */
export const FlagField =
  (description: string): PropertyDecorator =>
  (target, key) => {
    ApiProperty({ description, type: Boolean, required: false, default: false })(target, key);
    IsOptional()(target, key);
    IsBoolean({ message: '$property must be true or false' })(target, key);
    Transform(({ value }: { value: unknown }) => TRUTH.get(value) ?? (value === '' ? undefined : value))(
      target,
      key,
    );
  };

/** Column separator of a CSV file, as readDelimiter reads it. @param of  as in "the columns of a CSV" */
export const DelimiterField = (of = ''): PropertyDecorator =>
  applyDecorators(
    ApiProperty({
      description: `What separates the columns${of}: comma, semicolon, tab or pipe, or the character itself; found in the file when absent`,
      type: String,
      required: false,
    }),
    EmptyIsAbsent(),
    IsOptional(),
    IsString(),
  );
