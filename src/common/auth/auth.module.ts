import { Global, Module } from '@nestjs/common';
import { APP_INTERCEPTOR } from '@nestjs/core';
import { QueryInterceptor } from '../api/query.interceptor.js';
import { RateLimits } from '../api/rate-limit.js';
import { OnceInterceptor } from '../idempotency/once.interceptor.js';
import { AccessInterceptor } from './access.interceptor.js';
import { Access } from './access.js';
import { Authenticator } from './authenticator.js';
import { Gate } from './gate.js';

/** Who sends a request, what it may do, and whether it was carried out before: in front of every route and field. */
@Global()
@Module({
  providers: [
    Access,
    Authenticator,
    RateLimits,
    Gate,
    { provide: APP_INTERCEPTOR, useClass: AccessInterceptor },
    { provide: APP_INTERCEPTOR, useClass: QueryInterceptor }, // whoever may not do it learns nothing of it
    { provide: APP_INTERCEPTOR, useClass: OnceInterceptor }, // within the scope
  ],
  exports: [Access, Authenticator, RateLimits, Gate],
})
export class AuthModule {}
