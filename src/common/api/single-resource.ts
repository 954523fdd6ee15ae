/** Whether addresses, as they are written in the place that asks, have a GET and a PUT. */
export interface Addresses {
  hasGet(path: string): boolean;
  hasPut(path: string): boolean;
}

const endsInKey = (path: string): boolean => /\/(:\w+|\{\w+\})$/.test(path);

/**
 * The address of the single resource that a route reads or writes: what its GET answers is what PUT, DELETE and its actions
 * change. undefined: the route is of a list, of a figure or of a file.
 */
export const singleResource = (
  method: string,
  path: string,
  { hasGet, hasPut }: Addresses,
): string | undefined => {
  const own = hasGet(path);
  if (method === 'GET') return own && (endsInKey(path) || hasPut(path)) ? path : undefined;
  if (method === 'PUT' || (method === 'DELETE' && own)) return own ? path : undefined;
  // An action on a resource stands below it and has no GET of its own; what has one is a collection.
  const parent = path.slice(0, path.lastIndexOf('/'));
  return !own && endsInKey(parent) && hasGet(parent) ? parent : undefined;
};
