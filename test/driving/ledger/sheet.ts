import type { ShiftDocument } from '../../../src/features/driving/shifts/shift-document.model.js';
import { aProject } from '../../builders/project.js';
import { aShift } from '../../builders/shift.js';
import type { TestApp } from '../../harness/app.js';

/** `[code, hours, equipment]`, one after the other from the start of the shift; `BORE` with metres bores them. */
export type Line = [
  code: string,
  hours: number,
  more?: { metres?: number; equipment?: string; party?: string },
];

const CODES = {
  REGRIP: 'regripping',
  MECH: 'breakdown',
  ELEC: 'breakdown',
  WAIT: 'waiting',
  CLOSED: 'outside_working_time',
};

/** The trial project with codes of every kind and two pieces of equipment. */
export const aLedgerProject = async (app: TestApp): Promise<void> => {
  await aProject(app);
  const put = async (path: string, body: object): Promise<void> => {
    const { status, text } = await app.http.put(`/v1/projects/P1${path}`).send(body);
    if (status >= 300) throw new Error(text);
  };
  for (const [code, countsAs] of Object.entries(CODES))
    await put(`/activity-codes/${code}`, { description: `of ${code}`, countsAs });
  await put('/equipment/BELT', { description: 'Main belt', inUseDuring: ['boring', 'regripping'] });
  await put('/equipment/HEAD', { description: 'Cutterhead' });
};

/** Posts shift sheets one after the other; strokes continue from 1+200 upwards. */
export class Sheets {
  private stroke = 0;

  constructor(
    private readonly app: TestApp,
    private readonly url: string,
    private face = 1200,
    private readonly direction: 1 | -1 = 1,
  ) {}

  async post(
    date: string,
    name: 'day' | 'night',
    lines: Line[],
    ground: ShiftDocument['ground'] = [],
  ): Promise<void> {
    const document = aShift(date, name).submitted().build();
    let at = Date.parse(`${date}T${name === 'day' ? '06' : '18'}:00:00Z`);
    for (const [code, hours, { metres = 0, equipment, party } = {}] of lines) {
      const startedAt = new Date(at).toISOString();
      at += hours * 3_600_000;
      const endedAt = new Date(at).toISOString();
      document.activities.push({
        startedAt,
        endedAt,
        code,
        equipment,
        responsibleParty: party as 'contractor' | undefined,
      });
      if (metres === 0) continue;
      const [from, to] = [this.face, this.face + this.direction * metres];
      this.face = to;
      this.stroke += 1;
      const boring = { from: String(from), to: String(to), startedAt, endedAt };
      document.strokes.push({ number: this.stroke, borings: [boring] });
    }
    document.ground.push(...ground);
    const { status, text } = await this.app.http.put(`${this.url}/shifts/${date}/${name}`).send(document);
    if (status !== 201) throw new Error(text);
  }
}
