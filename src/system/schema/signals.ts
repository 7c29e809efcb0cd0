/** `signals:` of modules and sites, and `channel:` of a case. */
import {
  type ChannelPiece,
  chains,
  type ModuleSignals,
  moduleClocks,
  protections,
  type SiteSignals,
  siteClocks,
} from '../signals.ts';
import { given, plain, textRule } from './leaf.ts';
import { choiceRule, quantityRule, wholeRule } from './rules.ts';
import { flag } from './scalars.ts';
import { list, object, optional, required, type Shape } from './shape.ts';

const pulse = given(quantityRule('time', 'a time', { above: '0 s' }));
// Addresses 0x00 to 0x07 and 0x78 to 0x7F are reserved (I2C-bus specification, table of reserved ones).
const address = given(wholeRule('a seven-bit address from 8 to 119', 8, 119));

/** What a module needs of the signals around its link. */
export const moduleSignals: Shape<ModuleSignals> = object<ModuleSignals>({
  clock: optional(given(choiceRule(moduleClocks, 'a clock')), 'Where its reference clock is from.'),
  reverses_lanes: optional(flag, 'Whether its port takes lanes in reverse order.'),
  reset_pulse: optional(pulse, 'Shortest reset it is sure to see.'),
  self_test: optional(pulse, 'Longest time it holds MBIST# low.'),
  writes_in_service: optional(flag, 'Whether it writes its non-volatile memory in service.'),
  boundary_scan: optional(flag, 'Whether it is part of the boundary scan chain.'),
  management_address: optional(address, 'Seven-bit address of its management memory.'),
});

/** What a site gives of them. */
export const siteSignals: Shape<SiteSignals> = object<SiteSignals>({
  clock: optional(given(choiceRule(siteClocks, 'a clock')), 'Reference clock on P15.'),
  lanes_reversed: optional(flag, 'Whether lanes are routed in reverse order.'),
  port_reverses_lanes: optional(flag, 'Whether the port above takes lanes in reverse order.'),
  first_lane: optional(
    given(wholeRule('a lane', 0, 15)),
    'Lane of the module that lane 0 of the port above meets.',
  ),
  lanes_per_link: optional(
    given(wholeRule('a number of lanes', 1, 16)),
    'Lanes of one link, as the port above is split.',
  ),
  reset_pulse: optional(pulse, 'Shortest reset it gives.'),
  self_test_limit: optional(pulse, 'Time it waits for MBIST#.'),
  write_protect: optional(given(choiceRule(protections, 'a level')), 'MVMRO in service.'),
  scan_chain: optional(given(choiceRule(chains, 'a chain')), 'Boundary scan past an empty site.'),
  management_addresses: optional(list(address, 112), 'Others on its management bus.'),
});

/** Pieces of a channel from transmitter to receiver, 32 at most. */
export const channel: Shape<readonly ChannelPiece[]> = list(
  object<ChannelPiece>({
    name: required(plain(textRule('a name')), 'Board, connector or backplane.'),
    loss: required(
      given(quantityRule('loss', 'an insertion loss', { least: '0 dB' })),
      'Insertion loss at half the line rate.',
    ),
  }),
  32,
);
