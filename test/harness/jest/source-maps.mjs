import { compile } from '../../../prisma/tools/typescript-hooks.mjs';

/** For Jest's stack traces only: the code that runs is compiled as Node loads it (see runtime.cjs). */
export default { process: (text, filename) => compile(text, filename, true) };
