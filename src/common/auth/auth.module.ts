import { Global, Module } from '@nestjs/common';
import { APP_INTERCEPTOR } from '@nestjs/core';
import { ListsOutInterceptor } from '../api/lists-out/lists-out.interceptor.js';
import { NoBodyInterceptor } from '../api/no-body.interceptor.js';
import { PagingInterceptor } from '../api/paging.interceptor.js';
import { PreconditionsInterceptor } from '../api/preconditions.interceptor.js';
import { QueryInterceptor } from '../api/query.interceptor.js';
import { Resources } from '../api/resources.js';
import { WholeInterceptor } from '../api/whole.js';
import { RateLimits } from '../api/rate-limit.js';
import { OnceInterceptor } from '../idempotency/once.interceptor.js';
import { AccessInterceptor } from './access.interceptor.js';
import { Access } from './access.js';
import { Authenticator } from './authenticator.js';
import { Gate } from './gate.js';
import { Interceptors } from './interceptors.js';
import { IssuerSignIn } from './issuer-sign-in.js';
import { Sessions } from './sessions.js';
import { SignInController } from './sign-in.controller.js';

/** Authentication, access and idempotency, before every route and field. */
@Global()
@Module({
  controllers: [SignInController],
  providers: [
    Access,
    Authenticator,
    RateLimits,
    Resources,
    Gate,
    Sessions,
    IssuerSignIn,
    AccessInterceptor,
    QueryInterceptor,
    NoBodyInterceptor,
    OnceInterceptor,
    PagingInterceptor,
    ListsOutInterceptor,
    PreconditionsInterceptor,
    WholeInterceptor,
    { provide: APP_INTERCEPTOR, useClass: Interceptors },
  ],
  exports: [Access, Authenticator, RateLimits, Gate, IssuerSignIn, Resources],
})
export class AuthModule {}
