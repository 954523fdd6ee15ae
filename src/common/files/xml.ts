import { SaxesParser } from 'saxes';

/** Events while reading an XML document, with names without prefix. */
export interface XmlReader {
  open?(name: string, attributes: Record<string, string>): void;
  text?(text: string): void;
  close?(name: string): void;
}

/**
 * Limits on a document. A sheet of 200,000 cells has a million elements, and nothing in a workbook is nested deeper than twenty.
 */
const MOST_NODES = 2_000_000;
const MOST_DEPTH = 64;
const MOST_ATTRIBUTES = 100;

/** Counts what is read, and stops at the limits. */
class Weight {
  private nodes = 0;
  private depth = 0;
  private attributes = 0;

  node(): void {
    if ((this.nodes += 1) > MOST_NODES)
      throw new RangeError(`one of its parts has more than ${MOST_NODES} elements and attributes`);
  }

  open(): void {
    this.attributes = 0;
    this.node();
    if ((this.depth += 1) > MOST_DEPTH)
      throw new RangeError(`one of its parts is nested deeper than ${MOST_DEPTH} elements`);
  }

  attribute(): void {
    this.node();
    if ((this.attributes += 1) > MOST_ATTRIBUTES)
      throw new RangeError(`an element has more than ${MOST_ATTRIBUTES} attributes`);
  }

  close(): void {
    this.depth -= 1;
  }
}

const local = (name: string): string => name.slice(name.indexOf(':') + 1);

/**
 * Reads an external document. No entity is fetched or expanded: a document type declaration is refused.
 * @throws RangeError with a message for the user when it is not well-formed, or exceeds a limit
 */
export const readXml = (bytes: Buffer, reader: XmlReader): void => {
  let text: string;
  try {
    text = new TextDecoder('utf-8', { fatal: true }).decode(bytes);
  } catch {
    throw new RangeError('it is not UTF-8');
  }
  const parser = new SaxesParser();
  const weight = new Weight();
  parser.on('error', (error) => {
    throw new RangeError(error.message);
  });
  parser.on('doctype', () => {
    throw new RangeError('it declares a document type');
  });
  parser.on('opentagstart', () => weight.open());
  parser.on('attribute', () => weight.attribute());
  parser.on('comment', () => weight.node());
  parser.on('processinginstruction', () => weight.node());
  parser.on('opentag', ({ name, attributes }) => reader.open?.(local(name), attributes));
  parser.on('text', (part) => reader.text?.(part));
  parser.on('cdata', (part) => reader.text?.(part));
  parser.on('closetag', ({ name }) => {
    weight.close();
    reader.close?.(local(name));
  });
  parser.write(text).close();
};

const ESCAPES: Record<string, string> = { '&': '&amp;', '<': '&lt;', '>': '&gt;', '"': '&quot;' };

/** Text escaped for the content of an element or an attribute in double quotation marks. */
export const xmlText = (text: string): string =>
  text.replace(/[&<>"]/g, (character) => ESCAPES[character] ?? '');
