import { Global, Module } from '@nestjs/common';
import { APP_INTERCEPTOR } from '@nestjs/core';
import { AccessInterceptor } from './access.interceptor.js';
import { Access } from './access.js';
import { Authenticator } from './authenticator.js';

/** Who sends a request, and what it may do: in front of every route and field. */
@Global()
@Module({
  providers: [Access, Authenticator, { provide: APP_INTERCEPTOR, useClass: AccessInterceptor }],
  exports: [Access, Authenticator],
})
export class AuthModule {}
