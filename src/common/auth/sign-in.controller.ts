import { Body, Controller, Get, HttpCode, Post, Query, Req, Res } from '@nestjs/common';
import { ApiExcludeController } from '@nestjs/swagger';
import { Matches } from 'class-validator';
import type { FastifyReply, FastifyRequest } from 'fastify';
import { TextField } from '../api/fields.js';
import { Multipart } from '../api/multipart.js';
import { answerPage } from '../html/page.js';
import { signInPage } from '../html/sign-in-page.js';
import { Gate } from './gate.js';
import { refuseForeignPage } from './loopback.js';
import { Open } from './permit.js';
import { Sessions } from './sessions.js';

/** An address of this service as a header takes it: a path in ASCII, and none that a browser would take for another host. */
const OWN_ADDRESS = /^\/(?!\/)[!-[\]-~]*$/;

class Next {
  @Matches(OWN_ADDRESS, {
    message: 'next must be an address of this service, such as /, with all that is not ASCII as %XX',
  })
  @TextField({ description: 'Where to go once signed in', maxLength: 2000, optional: true })
  next?: string;
}

class SignInForm extends Next {
  @Matches(/^[\w.~+/-]+=*$/, { message: 'credential must be an API key or an access token, without spaces' })
  @TextField({ description: 'API key or access token', maxLength: 8192 })
  credential: string;
}

/** Signs browsers in and out; programs send their credential with each request. */
@ApiExcludeController()
@Controller()
export class SignInController {
  constructor(
    private readonly gate: Gate,
    private readonly sessions: Sessions,
  ) {}

  @Open()
  @Get('sign-in')
  form(@Query() { next }: Next, @Res({ passthrough: true }) reply: FastifyReply): string {
    return answerPage(reply, signInPage({ next }));
  }

  @Open()
  @Post('sign-in')
  @HttpCode(303)
  @Multipart()
  async signIn(
    @Body() { credential, next = '/' }: SignInForm,
    @Req() request: FastifyRequest,
    @Res({ passthrough: true }) reply: FastifyReply,
  ): Promise<void> {
    refuseForeignPage(request.host, request.headers.origin, []);
    const authorization = `Bearer ${credential}`;
    await this.gate.prove(request, authorization, reply);
    this.sessions.begin(request, reply, authorization);
    void reply.header('location', next).header('cache-control', 'no-store');
  }

  @Open()
  @Post('sign-out')
  @HttpCode(303)
  @Multipart()
  signOut(
    @Body() { next = '/sign-in' }: Next,
    @Req() request: FastifyRequest,
    @Res({ passthrough: true }) reply: FastifyReply,
  ): void {
    refuseForeignPage(request.host, request.headers.origin, []);
    this.sessions.end(request, reply);
    void reply.header('location', next).header('cache-control', 'no-store');
  }
}
