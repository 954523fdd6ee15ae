/** Tells whether an address, in the caller's notation, has a GET and a PUT. */
export interface Addresses {
  hasGet(path: string): boolean;
  hasPut(path: string): boolean;
}

const endsInKey = (path: string): boolean => /\/(:\w+|\{\w+\})$/.test(path);

/**
 * The address of the single resource that a route reads or writes: PUT, DELETE and actions change what its GET answers.
 * undefined: the route is for a list, a figure or a file.
 */
export const singleResource = (
  method: string,
  path: string,
  { hasGet, hasPut }: Addresses,
): string | undefined => {
  const own = hasGet(path);
  if (method === 'GET') return own && (endsInKey(path) || hasPut(path)) ? path : undefined;
  if (method === 'PUT' || (method === 'DELETE' && own)) return own ? path : undefined;
  // An action is an address below its resource, without a GET; an address with a GET is a collection.
  const parent = path.slice(0, path.lastIndexOf('/'));
  return !own && endsInKey(parent) && hasGet(parent) ? parent : undefined;
};
