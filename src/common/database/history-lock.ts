/** Keeps all other writers of the project in scope waiting until the transaction ends. */
export const HOLD_HISTORY = `select pg_advisory_xact_lock(hashtext('drivebook.history'), scope_project())::text`;
