import type { ShiftDocument } from '../../src/features/driving/shifts/shift-document.model.js';

/** `06:30` on the shift's date; `+1 02:00` on the next one. UTC, as in the trial project. */
export const at = (date: string, time: string): string => {
  const next = time.startsWith('+1 ');
  const midnight = Date.parse(`${date}T00:00:00Z`) + (next ? 86_400_000 : 0);
  const [hours = 0, minutes = 0] = time
    .slice(next ? 3 : 0)
    .split(':')
    .map(Number);
  return new Date(midnight + (hours * 60 + minutes) * 60_000).toISOString();
};

type Boring = ShiftDocument['strokes'][number]['borings'][number];

/** Builds a shift document step by step; parts not given are empty. */
export class ShiftBuilder {
  private readonly document: ShiftDocument = {
    state: 'draft',
    strokes: [],
    activities: [],
    support: [],
    ground: [],
  };

  constructor(
    readonly date: string,
    readonly shift: string,
  ) {}

  submitted(): this {
    this.document.state = 'submitted';
    return this;
  }

  withStroke(
    number: number,
    from: string,
    to: string,
    start: string,
    end: string,
    more: Partial<Boring> = {},
  ): this {
    const boring = { from, to, startedAt: at(this.date, start), endedAt: at(this.date, end), ...more };
    const stroke = this.document.strokes.find((candidate) => candidate.number === number);
    if (stroke) stroke.borings.push(boring);
    else this.document.strokes.push({ number, borings: [boring] });
    return this;
  }

  withActivity(code: string, start: string, end: string): this {
    this.document.activities.push({ code, startedAt: at(this.date, start), endedAt: at(this.date, end) });
    return this;
  }

  withSupport(
    item: string,
    from: string,
    to: string | undefined,
    quantity: string,
    more: Partial<ShiftDocument['support'][number]> = {},
  ): this {
    this.document.support.push({ item, zone: 'L1', from, to, quantity, ...more });
    return this;
  }

  withGround(groundClass: string, from: string, to: string): this {
    this.document.ground.push({ groundClass, from, to });
    return this;
  }

  build(): ShiftDocument {
    return structuredClone(this.document);
  }
}

export const aShift = (date = '2027-03-01', shift = 'day'): ShiftBuilder => new ShiftBuilder(date, shift);
