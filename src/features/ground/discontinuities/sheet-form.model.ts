import { ApiProperty } from '@nestjs/swagger';
import { DelimiterField, IsFile } from '../../../common/api/form-fields.js';

/** The parts of an upload, as multipart/form-data. */
export class DiscontinuitySheetForm {
  @ApiProperty({
    description:
      'The sheet as CSV (UTF-8), one row per discontinuity, at most 1000. Headings: name, chainage, type, dip_deg and ' +
      'dip_direction_deg; optional set, spacing_m, persistence_m, aperture_mm, roughness, infilling, infilling_material, weathering, ' +
      'seepage, position_deg, remark, mapped_by and mapped_at. Numbers have a decimal point; what is empty is not known',
    type: 'string',
    format: 'binary',
  })
  @IsFile('sheet.csv')
  file: Buffer;

  @DelimiterField()
  delimiter?: string;
}
