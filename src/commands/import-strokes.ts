export const importStrokes = async (_args: string[]): Promise<number> => Promise.resolve(0);
