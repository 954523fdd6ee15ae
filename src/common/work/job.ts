/** Work for another thread: an exported function of a module, with the types of its input and output. */
export interface Job<Input, Output> {
  module: string;
  name: string;
  /** never called; it only carries the types */
  readonly work?: (input: Input) => Output | Promise<Output>;
}

/**
 * @param module  import.meta.url of the module that exports the function under its own name. A thread loads it with all its
 * imports, so it must import no framework and no database
 */
export const job = <Input, Output>(
  module: string,
  { name }: (input: Input) => Output | Promise<Output>,
): Job<Input, Output> => ({ module, name });

/**
 * A function of another module that only the thread loads, for work with heavy libraries.
 * @param beside  import.meta.url of a module in the same folder
 * @param file    name of the module without its extension
 */
export const jobIn = <Input, Output>(beside: string, file: string, name: string): Job<Input, Output> => ({
  module: new URL(`./${file}${beside.slice(beside.lastIndexOf('.'))}`, beside).href,
  name,
});
