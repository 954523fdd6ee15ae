import { type Fault, type ProblemCode, ProblemError } from '../api/problem.js';

/** What a thread is asked to do. */
export interface Task {
  module: string;
  name: string;
  input: unknown;
}

/** What a thread answers: a result, or the problem that the work found; an error of another kind is a defect. */
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
    const { code, message, faults } = error; // an error of a class does not survive the way between threads
    return { problem: { code, detail: message, faults } };
  }
};
