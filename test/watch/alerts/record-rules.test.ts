import pg from 'pg';
import { freshDatabase, type TestDatabase } from '../../harness/database.js';
import { refusalOf } from '../../harness/service-role.js';

// The rules that the database enforces for alerts, even when the service is bypassed.

let database: TestDatabase;
let client: pg.Client;

beforeAll(async () => {
  database = await freshDatabase();
  client = new pg.Client({ connectionString: database.url, options: '-c timezone=UTC' });
  await client.connect();
  await client.query(`insert into project (id, code, name, time_zone, day_start, currency) values (1, 'P', 'Trial', 'UTC', '06:00', 'EUR');
    insert into drive (id, project_id, code, name, start_chainage_m, end_chainage_m, direction, bored_diameter_m) values (1, 1, 'N', 'North', 1000, 900, -1, 7)`);
});

afterAll(async () => {
  await client.end();
  await database.drop();
});

/** The database's error for the statements, which are always rolled back. */
const refusal = async (sql: string): Promise<string> => {
  const { constraint, message } = await refusalOf(client, 1, sql);
  return `${constraint}: ${message}`;
};

const alertRule = (kind: string, threshold: number | 'null', more = ''): string =>
  `insert into alert_rule (project_id, code, kind, threshold, remark) values (1, 'AR', '${kind}', ${threshold}, ${more || 'null'});`;

const alert = (columns = '', values = ''): string =>
  `insert into alert (project_id, drive_id, number, kind, rule, subject, text, raised_at, raised_by${columns})
    values (1, 1, 1, 'shift_late', 'AR', 'x', 'late', '2027-03-01 06:00Z', 'clock'${values});`;

describe('alerts', () => {
  it.each([
    ['have a rule of a known kind', alertRule('rain', 1), 'alert_rule_kind'],
    ['have a rule for each kind that needs one', alertRule('hold_point_passed', 'null'), 'alert_rule_kind'],
    ['have a threshold where the kind has', alertRule('shift_late', 'null'), 'alert_rule_threshold'],
    ['have none where the record has', alertRule('inflow_above', 5), 'alert_rule_threshold'],
    ['have a threshold that is not negative', alertRule('shift_late', -1), 'alert_rule_threshold'],
    ['have a remark that says something', alertRule('shift_late', 1, `' '`), 'alert_rule_remark'],
    ['have a rule with a code', alertRule('shift_late', 1).replace(`'AR'`, `'a b'`), 'alert_rule_code'],
    [
      'have a rule that keeps its kind',
      `${alertRule('shift_late', 1)} update alert_rule set kind = 'metres_open'`,
      'alert_rule_kind_fixed: alert rule AR is of kind shift_late and cannot change its kind',
    ],
    ['have a number', alert().replace('(1, 1, 1,', '(1, 1, 0,'), 'alert_number'],
    ['have a rule, but for a hold point', alert().replace(`'AR'`, 'null'), 'alert_rule_given'],
    ['are open once', `${alert()} ${alert().replace('(1, 1, 1,', '(1, 1, 2,')}`, 'alert_open_once'],
    [
      'of a hold point are open once',
      `${alert()} ${alert()}`
        .replaceAll(`'shift_late', 'AR'`, `'hold_point_passed', null`)
        .replace('(1, 1, 1,', '(1, 1, 2,'),
      'alert_open_once',
    ],
    [
      'are not cleared before they were raised',
      alert(', cleared_at, cleared_by, clearance', `, '2027-02-01', 'x', 'ended'`),
      'alert_cleared',
    ],
    ['are cleared by somebody', alert(', cleared_at', `, '2027-04-01'`), 'alert_cleared'],
    [
      'are acknowledged for a reason',
      alert(', acknowledged_at, acknowledged_by', `, '2027-04-01', 'x'`),
      'alert_acknowledged',
    ],
    ['stay', `${alert()} delete from alert`, 'alert_stands: alert 1 can only be acknowledged'],
    ['stay as they were raised', `${alert()} update alert set value = 5`, 'alert_stands'],
    [
      'stay cleared',
      `${alert(', cleared_at, cleared_by, clearance', `, '2027-04-01', 'x', 'ended'`)} update alert set cleared_at = null, cleared_by = null, clearance = null`,
      'alert_stands',
    ],
    [
      'are acknowledged with a reason only',
      `${alert()} update alert set acknowledged_at = now()`,
      'alert_acknowledgement_reason: alert 1 is acknowledged with a reason only',
    ],
    [
      'are acknowledged once',
      `${alert()} select set_config('drivebook.reason', 'seen', true); update alert set acknowledged_at = now(); update alert set acknowledged_at = now()`,
      'alert_acknowledged_once: alert 1 is acknowledged',
    ],
  ])('%s', async (_, sql, expected) => {
    expect(await refusal(sql)).toContain(expected);
  });
});
