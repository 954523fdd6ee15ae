import { Controller, Get, Module } from '@nestjs/common';
import { ApiProperty, ApiTags } from '@nestjs/swagger';
import { Open } from '../../common/auth/permit.js';
import { Database } from '../../common/database/database.js';

class Health {
  @ApiProperty({ description: 'ok when the database answers' })
  status: string;
}

@ApiTags('Health')
@Controller('v1/health')
export class HealthController {
  constructor(private readonly database: Database) {}

  /** Whether the process lives; no database is asked */
  @Open()
  @Get('live')
  live(): Health {
    return { status: 'ok' };
  }

  /** Whether the service and its database answer: ready for requests */
  @Open()
  @Get()
  async health(): Promise<Health> {
    await this.database.ask('select 1');
    return { status: 'ok' };
  }
}

@Module({ controllers: [HealthController] })
export class HealthModule {}
