/** Event rules of PCI Express: the contract of `../../events.ts`, generations 1 to 6. */
import type { EventRules, LinkRequest, Transmitter } from '../../events.ts';
import { family } from '../charge.ts';
import type { PcieConfig } from '../config.ts';
import { FlitTransmitter } from './flit-transmitter.ts';
import { facts, plan } from './plan.ts';
import { PcieTransmitter } from './transmitter.ts';

function model(request: LinkRequest<PcieConfig>): { up: Transmitter; down: Transmitter } {
  if (family(request.config) === '1b1b') {
    return { up: new FlitTransmitter(request, 'up'), down: new FlitTransmitter(request, 'down') };
  }
  const up = new PcieTransmitter(request, 'up');
  const down = new PcieTransmitter(request, 'down');
  up.reverse = down;
  down.reverse = up;
  return { up, down };
}

export const pcieEvents: EventRules<PcieConfig> = { plan, facts, model };
