/** What a part of a package is asked for. */
export interface Part {
  /** code of the drive; undefined: all drives of the project */
  drive?: string;
  /** takes the share of the part that is done, 0 to 1 */
  progress(share: number): void;
}
