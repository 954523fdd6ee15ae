/** What the operations of a tag are about; the tags stand beside the controllers. */
export const TAGS: Record<string, string> = {
  Health: 'Whether the service is alive and ready',
  Projects: 'Contracts, each with a record of its own',
  Members: 'Who may do what in a project, and for which party',
  Parties: 'The parties of the contract',
  'API keys': 'Credentials for machines and scripts',
  Calendar: 'Shifts of the calendar, and the days on which the site is closed',
  Catalogue: 'Codes, classes, items and zones of a project',
  Drives: 'Drives and machines, and the face position',
  Strokes: 'Strokes of the machine with their figures, and their import',
  Record: 'Open items and doubts, and the as-built record of a part of the drive',
  Shifts: 'Shifts as documents: posted, submitted, disputed, countersigned',
  'Machine samples': 'Readings of the machine, and the strokes that are proposed from them',
  Muck: 'Muck by weight against theory',
  Probing: 'Probe holes, and how far they reach ahead of the face',
  Indications: 'What investigations indicate ahead of the face, what was met, and the score of each method',
  'Hold points': 'Places that the face does not pass before they are released',
  Alerts: 'What the project wants to be warned of, and what it was warned of',
  Water: 'Inflow as measured, along the drive, and against triggers and pumps; water tests',
  Grouting: 'Grouting rounds with their holes, what they took, and their control holes',
  Attachments: 'Photos and notes',
  'Daily reports': 'Reports of production days: PDF to be signed, page and data',
  Diagrams: 'Diagrams of the record as SVG and PNG',
  Discontinuities: 'Discontinuities as mapped, their sets and a stereonet',
  Notices: 'Notices under the contract, and by when they are due',
  Overbreak: 'Overbreak as surveyed, and its quantities',
  'Rating tables': 'The published tables by which rock is rated',
  'Ground logs': 'Mapping of the rock, its ratings, and which log governs',
  Advance: 'Advance by shift, day, week, month and any span',
  'Time ledger': 'Hours by code, class, party, equipment and place',
  Programme: 'Planned advance against the record',
  'Ground classes': 'Class decisions, and the class that governs each metre',
  Baseline: 'The ground that the contract expects against the ground encountered',
  'Time entitlement': 'Time that the contract gives for the ground encountered',
  Bill: 'Bills of quantities by version',
  Measurement: 'How the items of a bill are measured from the record',
  Valuations: 'Valuations, their lines with the records behind them, and their signatures',
  'Support quantities': 'Support as installed, counted and measured',
  'Support demanded': 'Support that is demanded against what is installed',
  Webhooks: 'Addresses outside that are notified by signed messages',
  History: 'Every change of the record: who, when, what and why',
};

/** The tags that are used, each with what it is about. */
export const tagsOf = (used: Iterable<string>): { name: string; description?: string }[] =>
  [...new Set(used)]
    .sort((a, b) => a.localeCompare(b, 'en'))
    .map((name) => ({ name, description: TAGS[name] }));
