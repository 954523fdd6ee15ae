import { Controller, Get, Module } from '@nestjs/common';
import { ApiProperty, ApiTags } from '@nestjs/swagger';
import { Answer } from '../../../common/api/answer.js';
import { ProblemError } from '../../../common/api/problem.js';
import { Open } from '../../../common/auth/permit.js';
import { ControlConnection } from '../../../common/database/control-connection.js';

class Health {
  @ApiProperty({ description: 'ok when the database answers' })
  status: string;
}

@ApiTags('Health')
@Controller('v1/health')
export class HealthController {
  constructor(private readonly control: ControlConnection) {}

  @Open()
  @Get('live')
  @Answer('Whether the process is alive; without asking the database', Health)
  live(): Health {
    return { status: 'ok' };
  }

  /** It queries over a separate connection, at most once a second. */
  @Open()
  @Get()
  @Answer('Whether the service and its database are ready for requests', Health)
  async health(): Promise<Health> {
    await this.control.ready().catch(() => {
      throw new ProblemError('unavailable', 'The database does not answer.');
    });
    return { status: 'ok' };
  }
}

@Module({ controllers: [HealthController] })
export class HealthModule {}
