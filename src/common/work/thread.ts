import { type Fault, type ProblemCode, ProblemError } from '../api/problem.js';

/** A task for a thread. */
export interface Task {
  module: string;
  name: string;
  input: unknown;
}

/** The answer of a thread: a result, or a problem found by the work; any other error is a defect. */
export type Done = { result: unknown } | { problem: { code: ProblemCode; detail: string; faults: Fault[] } };

type Module = Record<string, (input: unknown) => unknown>;

/** Runs in each thread of the pool. */
export const run = async ({ module, name, input }: Task): Promise<Done> => {
  try {
    const work = ((await import(module)) as Module)[name];
    if (!work) throw new Error(`${module} exports no ${name}`);
    return { result: await work(input) };
  } catch (error) {
    if (!(error instanceof ProblemError)) throw error;
    const { code, message, faults } = error; // class instances do not survive the transfer between threads
    return { problem: { code, detail: message, faults } };
  }
};
