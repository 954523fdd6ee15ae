import { Injectable } from '@nestjs/common';
import { Database } from '../database/database.js';
import { Gate } from '../database/gate.js';
import { Measures, type Values } from './measures.js';

/** How busy the database is with this instance's work. */
@Injectable()
export class DatabaseMeasures {
  constructor(measures: Measures, database: Database, { admission, failures }: Gate) {
    measures.gauge(
      'drivebook_pool_connections',
      'Connections of the pool: in_use, idle; waiting: requested while none was free',
      ['state'],
      () => {
        const { inUse, idle, waiting } = database.connections;
        return [
          [{ state: 'in_use' }, inUse],
          [{ state: 'idle' }, idle],
          [{ state: 'waiting' }, waiting],
        ];
      },
    );
    const byClass = (read: (state: (typeof admission.state)['light'], name: string) => Values): Values => {
      const { light, heavy } = admission.state;
      return [...read(light, 'light'), ...read(heavy, 'heavy')];
    };
    measures.gauge(
      'drivebook_admission_requests',
      'Work at the database by class: running, or waiting for its turn',
      ['class', 'state'],
      () =>
        byClass(({ inUse, waiting }, name) => [
          [{ class: name, state: 'running' }, inUse],
          [{ class: name, state: 'waiting' }, waiting],
        ]),
    );
    measures.counter(
      'drivebook_admission_refused_total',
      'Work that was refused with 503, because too much of it waited or it waited for too long',
      ['class'],
      () => byClass(({ refused }, name) => [[{ class: name }, refused]]),
    );
    measures.counter(
      'drivebook_statement_errors_total',
      'Work that failed in the database, by class of SQLSTATE (its first two characters); 23 and DB are rules of the record',
      ['sqlstate_class'],
      () => [...failures].map(([state, count]) => [{ sqlstate_class: state }, count]),
    );
  }
}
