import type { Config } from '../common/config/config.js';
export const demo = async (_config: Config, _args: string[]): Promise<number> => Promise.resolve(0);
