/** Lets the tools and tests import the service's .ts files as they are, without a build. */
import { register } from 'node:module';

register('./typescript-hooks.mjs', import.meta.url);
