import path from 'node:path';

/** The folder of package.json: two steps up from src/common and from dist/common. */
export const packageRoot = path.resolve(import.meta.dirname, '..', '..');
