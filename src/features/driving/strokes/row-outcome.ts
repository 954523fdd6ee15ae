/** What became of a row of an imported table. */
export enum RowOutcome {
  created = 'created',
  unchanged = 'unchanged',
  rejected = 'rejected',
}
