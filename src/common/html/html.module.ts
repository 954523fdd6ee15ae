import { Controller, Get, Module, Param, Res } from '@nestjs/common';
import { ApiExcludeController } from '@nestjs/swagger';
import type { FastifyReply } from 'fastify';
import { notFound } from '../api/problem.js';
import { Open } from '../auth/permit.js';
import { assetOf } from './assets.js';

/** Style sheets, scripts and pictures of the pages. */
@ApiExcludeController()
@Controller('assets')
export class AssetsController {
  @Open()
  @Get(':file')
  file(@Param('file') file: string, @Res({ passthrough: true }) reply: FastifyReply): string {
    const asset = assetOf(file);
    if (!asset) throw notFound(`file ${file}`);
    void reply
      .header('content-type', asset.type)
      .header('cache-control', 'public, max-age=31536000, immutable');
    return asset.text();
  }
}

@Module({ controllers: [AssetsController] })
export class HtmlModule {}
