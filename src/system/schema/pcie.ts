/** The keys of a PCI Express port. */
import type { ChannelCredits, PcieFunction } from '../parts.ts';
import { checkPcie } from './check-pcie.ts';
import { given } from './leaf.ts';
import { choiceRule, numberRule, quantityRule } from './rules.ts';
import {
  completionBoundary,
  flag,
  generation,
  pause,
  payloadSize,
  some,
  width,
} from './scalars.ts';
import { checked, object, optional, record, required, type Shape } from './shape.ts';

/**
 * Most credits outstanding, with the largest scale: PCI Express Base Specification 6.3, §3.4.2,
 * table 3-4.
 */
const HEADERS_MOST = '2032';
const DATA_MOST = '32752';

const headers = given(
  quantityRule('count', 'a number of credits', { least: '1', most: HEADERS_MOST, whole: true }),
);
const data = given(
  quantityRule('count', 'a number of credits', { least: '1', most: DATA_MOST, whole: true }),
);

const creditFields = {
  posted_header_credits: optional(headers, 'Posted header credits it advertises, packets.'),
  posted_data_credits: optional(data, 'Posted data credits it advertises, units of 16 B.'),
  nonposted_header_credits: optional(headers, 'Non-posted header credits it advertises.'),
};

/** Virtual channels beside channel 0, whose credits are those of the port itself. */
const furtherChannels = ['1', '2', '3', '4', '5', '6', '7'] as const;

const port: Shape<PcieFunction> = object<PcieFunction>({
  generation: required(generation, 'Highest generation: 1 is 2.5 GT/s, 6 is 64 GT/s.'),
  width: required(width, 'Widest link, such as x4.'),
  role: required(
    given(choiceRule(['endpoint', 'root complex', 'either'], 'a role')),
    'Role in the tree.',
  ),
  Max_Payload_Size: required(payloadSize, 'Max_Payload_Size Supported.'),
  Read_Completion_Boundary: optional(completionBoundary, 'Boundary when it completes reads.'),
  completion_payload: optional(
    given(
      quantityRule('size', 'a payload', { exact: true, whole: true, least: '4 B', most: '4 KiB' }),
    ),
    'Largest completion payload it makes.',
  ),
  read_latency: optional(pause, 'End of a request here to start of its completion.'),
  ...creditFields,
  credit_return: optional(pause, 'End of a packet here to its credit usable at the sender.'),
  packets_per_ack: optional(some, 'Received packets covered by one Ack.'),
  packets_per_update: optional(some, 'Received packets covered by one UpdateFC.'),
  skp_interval: optional(some, 'SKP spacing: symbol times at 2.5 and 5 GT/s, else blocks.'),
  ecrc: optional(flag, 'Whether an end-to-end CRC is added.'),
  tags: optional(
    given(numberRule([32, 256, 768, 15_360], 'a number of tags')),
    'Tags it can use as a requester, of 5, 8, 10 or 14 bits.',
  ),
  scaled_flow_control: optional(flag, 'Whether it takes part in scaled flow control.'),
  virtual_channels: optional(
    record(furtherChannels, 'virtual channel', object<ChannelCredits>(creditFields)),
    'Credits of virtual channels 1 to 7.',
  ),
  L0s_exit: optional(pause, 'Time to leave L0s, as Link Capabilities state it.'),
  L1_exit: optional(pause, 'Time to leave L1, as Link Capabilities state it.'),
});

/** A PCI Express port, looked over for contradictions. */
export const pcie: Shape<PcieFunction> = checked(port, checkPcie);
