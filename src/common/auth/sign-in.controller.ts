import { Body, Controller, Get, HttpCode, Post, Query, Req, Res } from '@nestjs/common';
import { ApiExcludeController } from '@nestjs/swagger';
import { Matches } from 'class-validator';
import type { FastifyReply, FastifyRequest } from 'fastify';
import { TextField } from '../api/fields.js';
import { Multipart } from '../api/multipart.js';
import { answerPage } from '../html/page.js';
import { isOwnAddress, MOST_NEXT, OWN_ADDRESS, signInPage } from '../html/sign-in-page.js';
import { signedInPage } from '../html/signed-in-page.js';
import { ProblemError } from '../api/problem.js';
import { AnyQuery } from '../api/query.interceptor.js';
import { Gate } from './gate.js';
import { CALLBACK, IssuerSignIn } from './issuer-sign-in.js';
import { refuseForeignPage } from './loopback.js';
import { Open } from './permit.js';
import { Sessions } from './sessions.js';

class Next {
  @Matches(OWN_ADDRESS, {
    message: 'next must be an address of this service, such as /, with non-ASCII characters percent-encoded',
  })
  @TextField({ description: 'Where to go once signed in', maxLength: MOST_NEXT, optional: true })
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
    private readonly issuer: IssuerSignIn,
  ) {}

  @Open()
  @Get('sign-in')
  form(@Query() { next }: Next, @Res({ passthrough: true }) reply: FastifyReply): string {
    return answerPage(reply, signInPage({ next, isIssuerOffered: this.issuer.isOffered }));
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

  /** Redirects the browser to the issuer. */
  @Open()
  @Get('sign-in/issuer')
  async toIssuer(
    @Query() { next = '/' }: Next,
    @Req() request: FastifyRequest,
    @Res({ passthrough: true }) reply: FastifyReply,
  ): Promise<string> {
    const location = await this.issuer.begin(request, reply, next);
    void reply.status(303).header('location', location).header('cache-control', 'no-store');
    return '';
  }

  /**
   * The redirect target after sign-in at the issuer. The browser does not send the session cookie on a navigation that began at
   * another site, so a page of ours continues from here.
   */
  @Open()
  @AnyQuery()
  @Get(CALLBACK.slice(1))
  async fromIssuer(
    @Req() request: FastifyRequest,
    @Res({ passthrough: true }) reply: FastifyReply,
  ): Promise<string> {
    const { authorization, subject, next } = await this.issuer.complete(request, reply);
    const principal = await this.gate.prove(request, authorization, reply);
    if (principal.subject !== subject)
      throw new ProblemError(
        'unauthenticated',
        'The access token and the ID token of the issuer belong to different people.',
      );
    this.sessions.begin(request, reply, authorization);
    return answerPage(reply, signedInPage(isOwnAddress(next) ? next : '/'));
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
