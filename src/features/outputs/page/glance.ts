import type { AlertPage } from '../../watch/alerts/alert.models.js';
import type { DayAdvance } from '../../driving/advance/advance.models.js';
import type { RollingAdvance, WindowAdvance } from '../../driving/advance/face.models.js';
import type { ProgrammeDay } from '../../driving/programme/programme.models.js';
import type { ProbeCover } from '../../ahead/probing/probe-cover.model.js';
import type { DiagramInfo } from '../diagrams/diagram.models.js';
import type { OpenItem } from '../record/open-item.model.js';
import type { Drive, DriveProgress } from '../../site/drives/drive.model.js';
import type { Project } from '../../site/projects/project.model.js';

/** A drive in the list of drives. */
export interface ListedDrive {
  project: Project;
  drive: Drive;
}

/** Progress against a programme at the end of the last production day, and seven days earlier. */
export interface AgainstProgramme {
  programme: string;
  days: ProgrammeDay[];
}

export interface AdvanceGlance {
  progress: DriveProgress;
  /** The last 24 hours and the last 7 days. */
  windows: WindowAdvance[];
  /** Whether they end with the last boring, because nothing was bored in the 7 days before now. */
  endsWithRecord: boolean;
  /** The largest advance in any window of the same length. */
  best: (RollingAdvance | undefined)[];
  programmes: AgainstProgramme[];
  /** The last production days with a record, latest first. */
  days: DayAdvance[];
}

export interface StateGlance {
  openItems: OpenItem[];
  alerts: AlertPage;
  cover: ProbeCover;
  diagrams: DiagramInfo[];
}

/** The content of a drive's page, all of one state of the record. */
export interface Glance extends AdvanceGlance, StateGlance {
  project: Project;
  drive: Drive;
  /** Moment of the request. */
  now: Date;
  reader: Reader;
}

/** The reader of the page. */
export interface Reader {
  subject: string;
  /** Whether the service runs without login. */
  isLocal: boolean;
  /** Whether the reader may follow the changes of the project. */
  mayFollow: boolean;
}
