/** Nobody else of the project in scope writes until the transaction ends. */
export const HOLD_HISTORY = `select pg_advisory_xact_lock(hashtext('drivebook.history'), scope_project())::text`;
