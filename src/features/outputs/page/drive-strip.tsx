import type { VNode } from 'preact';
import type { ProbeCover } from '../../ahead/probing/probe-cover.model.js';
import type { Drive, DriveProgress } from '../../site/drives/drive.model.js';
import { metres } from './words.js';

const WIDTH = 1000;
const [TOP, HEIGHT] = [10, 22];
/** Shorter lengths would be invisible. */
const LEAST = 4;

/** The drive from its start on the left to its end: the bored part, the part probed ahead, and the next hold point. Our own drawing. */
export const DriveStrip = ({
  drive,
  progress,
  cover,
}: {
  drive: Drive;
  progress: DriveProgress;
  cover: ProbeCover;
}): VNode => {
  const at = (driven: number): number => Math.min(WIDTH, (WIDTH * driven) / Number(drive.lengthM));
  const face = at(Number(progress.faceM));
  const probed = Math.max(LEAST, at(Number(progress.faceM) + Number(cover.coverM)) - face);
  const hold =
    cover.toNextHoldPointM == null ? undefined : at(Number(progress.faceM) + Number(cover.toNextHoldPointM));
  const held =
    hold === undefined ? '' : `; next hold point ${cover.nextHoldPoint} at ${cover.nextHoldPointChainage}`;
  const label = `From ${drive.startChainage} to ${drive.endChainage}: face at ${progress.faceChainage}, probed to ${cover.probedToChainage}${held}`;
  return (
    <figure class="strip">
      <svg viewBox={`0 0 ${WIDTH} 42`} role="img" aria-label={label} preserveAspectRatio="none">
        <rect class="rock" x="0" y={TOP} width={WIDTH} height={HEIGHT} />
        <rect class="bored" x="0" y={TOP} width={face} height={HEIGHT} />
        {Number(cover.coverM) > 0 && <rect class="probed" x={face} y={TOP} width={probed} height={HEIGHT} />}
        <line class="face" x1={face} x2={face} y1="2" y2="40" />
        {hold !== undefined && <line class="hold" x1={hold} x2={hold} y1="2" y2="40" />}
      </svg>
      <figcaption>
        <span>{drive.startChainage}</span>
        <span class="keys">
          <span class="key bored">bored</span>
          {Number(cover.coverM) > 0 && <span class="key probed">probed ahead</span>}
          {hold !== undefined && <span class="key hold">next hold point</span>}
          <span>{metres(progress.remainingM)} to go</span>
        </span>
        <span>{drive.endChainage}</span>
      </figcaption>
    </figure>
  );
};
