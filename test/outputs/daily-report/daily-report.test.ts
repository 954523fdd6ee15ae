import { app, drive, ownDrives, url } from '../../harness/own-drives.js';
import { aFullDay, CODES, DAY, dayShift, nightShift, put, read, rows } from './site.js';

// Contents of a daily report, against the posted shifts, worked by hand, and against the views.

ownDrives('R');

beforeAll(CODES);

const sum = (values: string[]): number =>
  values.reduce((all, value) => all + Math.round(Number(value) * 1000), 0);

describe('the report of a day', () => {
  it('shows what each shift reported', async () => {
    await aFullDay();
    // its bytes do not exist: the report names photos without showing them
    await app.sql(
      `insert into attached_file (drive_id, project_id, number, digest, file_name, media_type, size_bytes, uploaded_by, caption, shift_date, shift_name)
       select id, project_id, 1, repeat('a', 64), 'face.jpg', 'image/jpeg', 3, 'somebody', 'Face', '${DAY}', 'day' from drive where code = $1`,
      [drive],
    );
    const report = await read();
    const [day, night] = report.shifts;
    expect(report).toMatchObject({
      ...{
        project: 'P1',
        drive,
        date: DAY,
        timeZone: 'UTC',
        startsLocal: `${DAY} 06:00`,
        endsLocal: '2024-03-02 06:00',
      },
      ...{
        advanceM: '4.700',
        fromChainage: '1+200.000',
        faceChainage: '1+204.700',
        strokeCount: 3,
        cumulativeM: '4.700',
      },
      signatures: [
        { side: 'Contractor', parties: ['Invented joint venture'] },
        { side: 'Supervision / client', parties: ['Invented railway', 'Invented supervision'] },
      ],
      missingShifts: [],
    });
    expect(report.caution).toMatch(/Decision support.*local code/s);
    expect(day).toMatchObject({
      ...{
        date: DAY,
        shift: 'day',
        state: 'submitted',
        startsLocal: `${DAY} 06:00`,
        endsLocal: `${DAY} 18:00`,
        seconds: '43200.000',
      },
      ...{ crewLead: 'Crew of C. Invented', remark: 'Face wet on the left.' },
      ...{
        advanceM: '3.200',
        fromChainage: '1+200.000',
        faceChainage: '1+203.200',
        strokeCount: 2,
        cumulativeM: '3.200',
      },
      boringHours: '1.5667', // 50 + 44 minutes
      strokes: [
        {
          ...{
            number: 1,
            from: '1+200.000',
            to: '1+201.700',
            lengthM: '1.700',
            startedClock: '06:20',
            endedClock: '07:10',
            boringSeconds: '3000.000',
          },
          ...{
            thrustKn: 9000,
            torqueKnm: 900,
            rotationRpm: 6,
            penetrationMmPerRev: 6.85,
            gripperPressureBar: 281,
            muckMassT: '170.500',
          },
        },
        { number: 2, lengthM: '1.500', thrustKn: 9500, torqueKnm: null, muckMassT: null },
      ],
      support: [
        {
          zone: 'L1',
          item: 'BOLT',
          quantity: '10.000',
          unit: 'nr',
          from: '1+200.000',
          to: '1+202.000',
          lineCount: 2,
          remarks: ['resin'],
        },
        { zone: 'L1', item: 'MESH', quantity: '12.500', unit: 'm2', lineCount: 1 },
        {
          zone: 'L2',
          item: 'SPRAY',
          quantity: '3.200',
          leastThicknessMm: '80.00',
          mostThicknessMm: '80.00',
          deliveredVolumeM3: '3.750',
        },
      ],
      ground: [
        {
          from: '1+200.000',
          to: '1+202.000',
          lengthM: '2.000',
          groundClass: 'A',
          lithology: 'granite',
          remark: 'blocky',
        },
        { lengthM: '1.200', groundClass: 'B', lithology: null },
      ],
      groundLogs: [{ name: 'G1', from: '1+200.000', to: '1+203.000', mappedBy: 'G. Invented', gsi: '62.0' }],
      probeHoles: [
        {
          name: 'PH1',
          drilledClock: '11:30',
          collar: '1+203.000',
          lengthM: '30.000',
          waterInflowLPerMin: '12.50',
          waterDepthM: '17.250',
          givesCover: true,
        },
      ],
      water: [
        {
          name: 'W1',
          place: 'interval',
          from: '1+200.000',
          to: '1+203.000',
          inflowLPerMin: '7.500',
          method: 'bucket',
          measuredClock: '12:15',
        },
        // 18 l/min over 3 m at 5 bar: 18 / 3 * 10 / 5 = 12 Lu (Lugeon, by definition)
        { name: 'WT1', place: null, hole: 'PH1', representativeLu: '12.000', measuredClock: '13:00' },
      ],
      grouting: [],
      openItems: [],
      photos: [{ number: 1, caption: 'Face', fileName: 'face.jpg' }],
    });
    expect(
      day?.stops.map(({ startedClock, code, countsAs, party, equipment, remark }) => [
        startedClock,
        code,
        countsAs,
        party,
        equipment,
        remark,
      ]),
    ).toEqual([
      ['06:00', 'MAINT', 'planned_stop', null, null, null],
      ['08:00', 'FAIL', 'breakdown', 'contractor', 'BELT', 'roller changed'],
      ['09:30', 'WAIT', 'waiting', 'employer', null, null],
      ['10:00', 'WET', 'ground', null, null, null],
      ['10:50', 'OUT', 'outside_working_time', null, null, null],
      ['11:00', 'MAINT', 'planned_stop', null, null, null],
    ]);
    expect(night).toMatchObject({
      shift: 'night',
      state: 'draft',
      advanceM: '1.500',
      cumulativeM: '4.700',
      support: [],
      photos: [],
      probeHoles: [],
      // two holes of 20 m: 250.5 + 150 + 99.5 kg; the third was completed after the shift
      grouting: [
        {
          name: 'GR1',
          purpose: 'pre_grouting',
          state: 'under_way',
          from: '1+203.000',
          to: '1+222.000',
          holeCount: 2,
          holeM: '40.000',
          massKg: '500.000',
          pressureEndBar: '40.000',
          remark: 'tight above',
        },
      ],
    });
    expect(night?.openItems).toMatchObject([{ kind: 'minutes_missing', missingMinutes: '660.00' }]); // 19:00 to 06:00
  });

  it('sums the day over its shifts', async () => {
    await aFullDay();
    const { times, support } = await read();
    // by hand: 50 + 44 + 60 minutes of boring, 6 of regripping, 20 + 420 of maintenance
    expect(
      Object.fromEntries(times.map(({ countsAs, seconds }) => [countsAs, Number(seconds) / 60])),
    ).toEqual({
      ...{
        boring: 154,
        regripping: 6,
        planned_stop: 440,
        breakdown: 90,
        waiting: 30,
        ground: 50,
        outside_working_time: 10,
      },
    });
    expect(support.map(({ zone, item, quantity }) => [zone, item, quantity])).toEqual([
      ['L1', 'BOLT', '10.000'],
      ['L1', 'MESH', '12.500'],
      ['L2', 'SPRAY', '3.200'],
    ]);
  });

  it('can be read as of a moment, and an older version has another digest', async () => {
    await put(`/shifts/${DAY}/day`, dayShift());
    const before = await read();
    const { headers } = await app.http.get(`${url}/shifts/${DAY}/day`);
    expect(headers.etag).toBe(`"${before.shifts[0]?.digest.slice(0, 32)}"`);
    const then = new Date().toISOString();
    await app.http
      .put(`${url}/shifts/${DAY}/day`)
      .set('If-Match', String(headers.etag))
      .send({ ...dayShift(), crewLead: 'Another' })
      .expect(200);
    const after = await read();
    expect(after.shifts[0]).toMatchObject({ crewLead: 'Another' });
    expect(after.shifts[0]?.digest).not.toBe(before.shifts[0]?.digest);
    expect(after.change).toBeGreaterThan(before.change ?? Infinity);
    const asked = await read(DAY, `?asOf=${then}`);
    expect(asked).toEqual(before);
    const { text } = await app.http.get(`${url}/daily-reports/${DAY}.html?asOf=${then}`).expect(200);
    expect(text).toContain(`${DAY}.pdf?asOf=${encodeURIComponent(then)}`);
    expect(text).toContain(before.shifts[0]?.digest);
  });

  it('is the same by GraphQL', async () => {
    await aFullDay();
    const query = `{ drive(project: "P1", drive: "${drive}") { dailyReport(date: "${DAY}") { advanceM change
      shifts { shift digest advanceM quarters { quarter countsAs seconds } strokes { number from to thrustKn } openItems { kind detail } } } } }`;
    const { body } = await app.http.post('/graphql').send({ query });
    expect(body.errors).toBeUndefined();
    const { advanceM, change, shifts } = await read();
    expect(body.data.drive.dailyReport).toMatchObject({ advanceM, change });
    for (const [index, shift] of shifts.entries()) {
      const { digest, quarters, strokes } = body.data.drive.dailyReport.shifts[index];
      expect(digest).toBe(shift.digest);
      expect(shift.quarters).toMatchObject(quarters);
      expect(shift.strokes).toMatchObject(strokes);
    }
  });
});

describe('the bar of a shift', () => {
  it('has each class in each quarter, and sums to the shift', async () => {
    await aFullDay();
    const [day, night] = (await read()).shifts;
    const quarter = (number: number) =>
      day?.quarters
        .filter((each) => each.quarter === number)
        .map(({ startsLocal, countsAs, seconds }) => [startsLocal, countsAs, Number(seconds)]);
    // by hand, from the activities
    expect(quarter(1)).toEqual([['06:00', 'planned_stop', 900]]);
    expect(quarter(2)).toEqual([
      ['06:15', 'planned_stop', 300],
      ['06:15', 'boring', 600],
    ]);
    expect(quarter(5)).toEqual([
      ['07:00', 'boring', 600],
      ['07:00', 'regripping', 300],
    ]);
    expect(quarter(6)).toEqual([
      ['07:15', 'regripping', 60],
      ['07:15', 'boring', 840],
    ]);
    expect(quarter(48)).toEqual([['17:45', 'planned_stop', 900]]);
    for (const shift of [day!, night!]) {
      expect(sum(shift.quarters.map(({ seconds }) => seconds))).toBe(43_200_000);
      // an activity that only touches a quarter-hour is not in it
      expect(shift.quarters.filter(({ seconds }) => Number(seconds) === 0)).toEqual([]);
      expect(sum(shift.times.map(({ seconds }) => seconds))).toBe(43_200_000);
      for (let number = 1; number <= 48; number += 1)
        expect(
          sum(shift.quarters.filter((each) => each.quarter === number).map(({ seconds }) => seconds)),
        ).toBe(900_000);
    }
    expect(night?.times).toEqual([
      { countsAs: 'boring', seconds: '3600.000' },
      { countsAs: null, seconds: '39600.000' },
    ]);
  });

  it('begins and ends within a quarter where the shift does', async () => {
    await put(`/shifts/${DAY}/day`, {
      ...dayShift(),
      state: 'draft',
      strokes: [],
      activities: [],
      support: [],
      ground: [],
      startsAt: `${DAY}T06:10:00Z`,
      endsAt: `${DAY}T06:50:00Z`,
    });
    const [day] = (await read()).shifts;
    expect(
      day?.quarters.map(({ startsLocal, seconds, countsAs }) => [
        startsLocal,
        Number(seconds) / 60,
        countsAs,
      ]),
    ).toEqual([
      ['06:10', 5, null],
      ['06:15', 15, null],
      ['06:30', 15, null],
      ['06:45', 5, null],
    ]);
  });
});

describe('figures of the report are those of the views', () => {
  it('of each shift and of the day', async () => {
    await aFullDay();
    const report = await read();
    const [shifts] = [
      await rows<Record<string, unknown>>(
        `select a.shift_name as shift, a.advance_m::text as "advanceM", a.boring_hours::text as "boringHours", a.stroke_count as "strokeCount", s.digest
       from report.shift_advance a join shift s on s.id = a.shift_id where a.drive_code = $drive order by a.starts_at`,
      ),
    ];
    expect(report.shifts).toMatchObject(shifts);
    expect([report]).toMatchObject(
      await rows(`select advance_m::text as "advanceM", boring_hours::text as "boringHours", cumulative_m::text as "cumulativeM"
        from report.day_advance where drive_code = $drive and production_day = '${DAY}'`),
    );
    // each shift bores its own strokes, so the parts within its time sum to its advance
    for (const { strokes, advanceM } of report.shifts)
      expect(sum(strokes.map(({ lengthM }) => lengthM))).toBe(sum([advanceM]));
    // the ledger has the same seconds, from another view
    const ledger = await rows<{ counts_as: string; seconds: string }>(
      `select counts_as, sum(seconds)::text as seconds from report.ledger_entry where drive_code = $drive and shift_name = 'day' group by counts_as order by counts_as`,
    );
    const booked = new Map(
      report.shifts[0]?.times.map(({ countsAs, seconds }) => [countsAs as string, Number(seconds)]),
    );
    expect(booked).toEqual(new Map(ledger.map(({ counts_as, seconds }) => [counts_as, Number(seconds)])));
    const support = await rows<{ item: string; quantity: string }>(
      `select i.code as item, sum(r.quantity)::text as quantity from support_installed r join support_item i on i.id = r.support_item_id
       join drive d on d.id = r.drive_id where d.code = $drive group by i.code order by i.code`,
    );
    expect(report.support.map(({ item, quantity }) => ({ item, quantity }))).toEqual(support);
  });

  it('a stroke over a shift change is split by time, its means weighted by length', async () => {
    await put(`/shifts/${DAY}/day`, { ...nightShift(), strokes: [], activities: [] });
    await put(`/shifts/${DAY}/night`, { ...nightShift(), strokes: [], activities: [] });
    // imported without a shift: 1.5 m in two borings, the second over 18:00, half of its 1 m in each shift
    await app.sql(
      `insert into boring (drive_id, project_id, stroke_number, from_m, to_m, started_at, ended_at, thrust_kn, muck_mass_t)
       select d.id, d.project_id, 1, b.from_m, b.to_m, b.started_at, b.ended_at, b.thrust_kn, b.muck
       from drive d, (values (0, 0.5, timestamptz '${DAY} 16:00Z', timestamptz '${DAY} 17:00Z', 6000, 10),
         (0.5, 1.5, '${DAY} 17:00Z', '${DAY} 19:00Z', 9000, 20)) b(from_m, to_m, started_at, ended_at, thrust_kn, muck) where d.code = $1`,
      [drive],
    );
    const { shifts } = await read();
    expect(shifts.map(({ strokes }) => strokes)).toMatchObject([
      // 0.5 m of 6000 kN and 0.5 m of 9000 kN
      [
        {
          number: 1,
          lengthM: '1.000',
          thrustKn: 7500,
          startedClock: '16:00',
          endedClock: '18:00',
          boringSeconds: '7200.000',
          muckMassT: '10.000',
        },
      ],
      [
        {
          number: 1,
          lengthM: '0.500',
          from: '1+201.000',
          thrustKn: 9000,
          startedClock: '18:00',
          endedClock: '19:00',
          muckMassT: '20.000',
        },
      ],
    ]);
  });

  it('a shift over the start of the day is whole in the day on which it starts', async () => {
    await put('/v1/projects/P9', { name: 'Midnight', timeZone: 'UTC', dayStart: '00:00', currency: 'EUR' });
    const weekdays = [1, 2, 3, 4, 5, 6, 7];
    await put('/v1/projects/P9/calendar-shifts/night', { startTime: '18:00', endTime: '06:00', weekdays });
    await put('/v1/projects/P9/activity-codes/BORE', { description: 'Boring', countsAs: 'boring' });
    const there = '/v1/projects/P9/drives/N';
    await put(there, {
      name: 'N',
      startChainage: '0',
      endChainage: '1000',
      direction: 1,
      boredDiameterM: '7',
    });
    await put(`${there}/shifts/${DAY}/night`, {
      state: 'draft',
      strokes: [
        {
          number: 1,
          borings: [{ from: '0', to: '1.2', startedAt: `${DAY}T23:00:00Z`, endedAt: '2024-03-02T01:00:00Z' }],
        },
      ],
      activities: [{ code: 'BORE', startedAt: `${DAY}T23:00:00Z`, endedAt: '2024-03-02T01:00:00Z' }],
      support: [],
      ground: [],
    });
    const { body } = await app.http.get(`${there}/daily-reports/${DAY}`).expect(200);
    expect(body.shifts).toMatchObject([{ shift: 'night', advanceM: '1.200' }]);
    expect(body).toMatchObject({ advanceM: '0.600', times: [{ countsAs: 'boring', seconds: '3600.000' }] });
    await app.http.get(`${there}/daily-reports/2024-03-02`).expect(404);
  });
});
