import { SaxesParser } from 'saxes';

/** What is told of an XML document as it is read, by names without prefix. */
export interface XmlReader {
  open?(name: string, attributes: Record<string, string>): void;
  text?(text: string): void;
  close?(name: string): void;
}

const local = (name: string): string => name.slice(name.indexOf(':') + 1);

/**
 * Reads a document from outside. No entity is fetched or expanded: a document type is refused.
 * @throws RangeError in words when it is not well-formed
 */
export const readXml = (bytes: Buffer, reader: XmlReader): void => {
  let text: string;
  try {
    text = new TextDecoder('utf-8', { fatal: true }).decode(bytes);
  } catch {
    throw new RangeError('it is not UTF-8');
  }
  const parser = new SaxesParser();
  parser.on('error', (error) => {
    throw new RangeError(error.message);
  });
  parser.on('doctype', () => {
    throw new RangeError('it declares a document type');
  });
  parser.on('opentag', ({ name, attributes }) => reader.open?.(local(name), attributes));
  parser.on('text', (part) => reader.text?.(part));
  parser.on('cdata', (part) => reader.text?.(part));
  parser.on('closetag', ({ name }) => reader.close?.(local(name)));
  parser.write(text).close();
};

const ESCAPES: Record<string, string> = { '&': '&amp;', '<': '&lt;', '>': '&gt;', '"': '&quot;' };

/** Text as it stands in a document, within an element or an attribute in double quotation marks. */
export const xmlText = (text: string): string =>
  text.replace(/[&<>"]/g, (character) => ESCAPES[character] ?? '');
