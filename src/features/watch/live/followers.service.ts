import { Injectable } from '@nestjs/common';
import { ProblemError } from '../../../common/api/problem.js';
import { Access } from '../../../common/auth/access.js';
import { Authenticator } from '../../../common/auth/authenticator.js';
import type { Permission } from '../../../common/auth/permissions.js';
import { inScope, scope } from '../../../common/database/scope.js';
import { Measures } from '../../../common/metrics/measures.js';
import { ChangeFeed } from './change-feed.service.js';
import { LiveStream, type News } from './live-stream.js';

/** Followers above this number are refused: each reads separately. */
const MAX_STREAMS = 1000;

/** How a follower was admitted; checked as long as it follows. */
export interface Admission {
  authorization: string | undefined;
  permission: Permission;
}

/** Followers of the project in scope, by subscription or event stream. */
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
   * The news from `read`, now and after each change of the project. Every reading runs in the scope of the request, and only while the
   * credential and the permission are valid.
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

  /** Checks whether the credential and the permission are still valid. @throws ProblemError unauthenticated, forbidden, not_found */
  holding({ authorization, permission }: Admission): () => Promise<void> {
    const current = scope();
    return async () => {
      const principal = await this.authenticator.principalOf(authorization);
      await this.access.stillHolds(principal, current, permission);
    };
  }
}
