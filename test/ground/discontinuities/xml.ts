import { SaxesParser } from 'saxes';

/** The first fault in a document that is not well-formed XML; undefined: none. */
export const xmlFault = (document: string): string | undefined => {
  const faults: string[] = [];
  const parser = new SaxesParser();
  parser.on('error', ({ message }) => faults.push(message));
  parser.write(document).close();
  return faults[0];
};
