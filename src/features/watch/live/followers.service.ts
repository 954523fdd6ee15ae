import { Injectable } from '@nestjs/common';
import { ProblemError } from '../../../common/api/problem.js';
import { Access } from '../../../common/auth/access.js';
import { Authenticator } from '../../../common/auth/authenticator.js';
import type { Permission } from '../../../common/auth/permissions.js';
import { inScope, scope } from '../../../common/database/scope.js';
import { Measures } from '../../../common/metrics/measures.js';
import { ChangeFeed } from './change-feed.service.js';
import { LiveStream, type News } from './live-stream.js';

/** More followers than that are refused: each reads for itself. */
const MAX_STREAMS = 1000;

/** By what a follower was let in, and has to hold for as long as it follows. */
export interface Admission {
  authorization: string | undefined;
  permission: Permission;
}

/** Whoever follows the project of the scope, by subscription or by event stream. */
@Injectable()
export class Followers {
  private streams = 0;

  constructor(
    private readonly feed: ChangeFeed,
    private readonly access: Access,
    private readonly authenticator: Authenticator,
    measures: Measures,
  ) {
    measures.gauge('drivebook_subscriptions', 'Subscriptions and event streams that are followed', [], () => [
      [{}, this.streams],
    ]);
  }

  /**
   * What `read` has to say, now and after each change of the project. Every reading is in the scope in which it was asked for, and
   * only while the credential and the right hold.
   */
  follow<T>(admission: Admission, read: () => Promise<News<T>>): LiveStream<T> {
    const current = scope();
    if (this.streams >= MAX_STREAMS)
      throw new ProblemError('too_many_requests', `More than ${MAX_STREAMS} subscriptions at a time.`);
    const holds = this.holding(admission);
    this.streams += 1;
    return new LiveStream(
      (call) => {
        const leave = this.feed.listen(current.projectId, call);
        return () => {
          leave();
          this.streams -= 1;
        };
      },
      async () => {
        await holds();
        return inScope(current, read);
      },
    );
  }

  /** Asks whether the credential and the right still hold. @throws ProblemError unauthenticated, forbidden, not_found */
  holding({ authorization, permission }: Admission): () => Promise<void> {
    const current = scope();
    return async () => {
      const principal = await this.authenticator.principalOf(authorization);
      await this.access.stillHolds(principal, current, permission);
    };
  }
}
