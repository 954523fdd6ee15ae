import type { AlertPage } from '../../watch/alerts/alert.models.js';
import type { DayAdvance } from '../../driving/advance/advance.models.js';
import type { RollingAdvance, WindowAdvance } from '../../driving/advance/face.models.js';
import type { ProgrammeDay } from '../../driving/programme/programme.models.js';
import type { ProbeCover } from '../../ahead/probing/probe-cover.model.js';
import type { DiagramInfo } from '../diagrams/diagram.models.js';
import type { OpenItem } from '../record/open-item.model.js';
import type { Drive, DriveProgress } from '../../site/drives/drive.model.js';
import type { Project } from '../../site/projects/project.model.js';

/** A drive where the reader chooses one. */
export interface ListedDrive {
  project: Project;
  drive: Drive;
}

/** A programme at the end of the last production day, and at that of seven days before. */
export interface AgainstProgramme {
  programme: string;
  days: ProgrammeDay[];
}

export interface AdvanceGlance {
  progress: DriveProgress;
  /** The last 24 hours and the last 7 days. */
  windows: WindowAdvance[];
  /** Whether they end with the last boring, as nothing was bored in the 7 days before now. */
  endsWithRecord: boolean;
  /** The largest advance in any window as long as each of these. */
  best: (RollingAdvance | undefined)[];
  programmes: AgainstProgramme[];
  /** The last production days with a record, the last first. */
  days: DayAdvance[];
}

export interface StateGlance {
  openItems: OpenItem[];
  alerts: AlertPage;
  cover: ProbeCover;
  diagrams: DiagramInfo[];
}

/** What the page of a drive shows: all of one state of the record. */
export interface Glance extends AdvanceGlance, StateGlance {
  project: Project;
  drive: Drive;
  /** When it was asked for. */
  now: Date;
  reader: Reader;
}

/** Who reads the page. */
export interface Reader {
  subject: string;
  /** Whether nobody is asked who they are. */
  isLocal: boolean;
  /** Whether the changes of the project may be followed. */
  mayFollow: boolean;
}
