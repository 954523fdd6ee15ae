/** Work that is done in another thread: an exported function of a module, with what it takes and gives back. */
export interface Job<Input, Output> {
  module: string;
  name: string;
  /** never called here; it carries the types */
  readonly work?: (input: Input) => Output | Promise<Output>;
}

/**
 * @param module  import.meta.url of the module that exports the function under its own name; a thread loads it with all
 * that it imports, so it imports no framework and no database
 */
export const job = <Input, Output>(
  module: string,
  { name }: (input: Input) => Output | Promise<Output>,
): Job<Input, Output> => ({ module, name });

/**
 * A function of another module, which only the thread loads: for work whose libraries are heavy.
 * @param beside  import.meta.url of a module in the same folder
 * @param file    name of the module without its extension
 */
export const jobIn = <Input, Output>(beside: string, file: string, name: string): Job<Input, Output> => ({
  module: new URL(`./${file}${beside.slice(beside.lastIndexOf('.'))}`, beside).href,
  name,
});
