import { CodeField, EnumField, IntField, TextField, TextListField } from '../../../common/api/fields.js';
import { DrivePath } from '../../../common/api/paths.js';
import { PlusKept } from '../../../common/api/plus-kept.js';
import { DiagramExtent } from './diagram.js';

export const USUAL_SIZE = { width: 1000, height: 640 };

export class DiagramPath extends DrivePath {
  @CodeField({ description: 'Name of the diagram, as in the list of diagrams' })
  diagram: string;
}

/** The options of all diagrams; each diagram refuses those that it does not take. */
export class DiagramQuery {
  @PlusKept()
  @TextField({
    description:
      'First production day, such as 2027-03-01, or one end of the part of the drive, such as 1+200: by the extent of the diagram',
    maxLength: 20,
    optional: true,
  })
  from?: string;

  @PlusKept()
  @TextField({
    description: 'Last production day, or the other end of the part',
    maxLength: 20,
    optional: true,
  })
  to?: string;

  @CodeField({ description: 'Name of the baseline; the first by name when not given', optional: true })
  baseline?: string;

  @CodeField({
    description: 'Name of the only programme to be drawn; four of them at most when not given',
    optional: true,
  })
  programme?: string;

  @IntField({
    description: `Width; ${USUAL_SIZE.width} when not given. A PNG has twice as many pixels [px]`,
    min: 600,
    max: 2000,
    optional: true,
  })
  width?: number;

  @IntField({
    description: `Height; ${USUAL_SIZE.height} when not given. A PNG has twice as many pixels [px]`,
    min: 400,
    max: 1500,
    optional: true,
  })
  height?: number;
}

export class DiagramInfo {
  @CodeField({ description: 'Name, as in the address' })
  name: string;

  @TextField({ description: 'Title' })
  title: string;

  @TextField({ description: 'What it shows' })
  about: string;

  @EnumField({ description: 'What from and to are', values: DiagramExtent, name: 'DiagramExtent' })
  extent: DiagramExtent;

  @TextListField({ description: 'What else it takes' })
  takes: string[];

  @TextListField({ description: 'Views and functions of schema report that it is drawn from' })
  views: string[];

  @TextField({ description: 'Its address as SVG' })
  svg: string;

  @TextField({ description: 'Its address as PNG' })
  png: string;
}
