/** Input for a part of a package. */
export interface Part {
  /** code of the drive; undefined: all drives of the project */
  drive?: string;
  /** reports the completed fraction of the part, 0 to 1 */
  progress(share: number): void;
}
