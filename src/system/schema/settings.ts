/** Settings that an operating system or firmware makes. */
import type { Settings } from '../case.ts';
import type { Collector } from '../text/problems.ts';
import { expectBeside } from './check-order.ts';
import { given } from './leaf.ts';
import { choiceRule, quantityRule, wholeRule } from './rules.ts';
import { anySize, completionBoundary, flag, generation, payloadSize, width } from './scalars.ts';
import { checked, object, optional, type Shape } from './shape.ts';

/** Above this, hardly any packet arrives whole and the model of repeated packets says nothing. */
const BIT_ERROR_RATIO_MOST = '1e-4';
/** Most prefixes in front of a packet that are reckoned with. */
const PREFIXES_MAX = 4;

const written: Shape<Settings> = object<Settings>({
  Max_Payload_Size: optional(payloadSize, 'As the system sets it.'),
  Max_Read_Request_Size: optional(payloadSize, 'As the system sets it.'),
  Read_Completion_Boundary: optional(completionBoundary, 'As the root complex works.'),
  reference_clock: optional(
    given(choiceRule(['common', 'separate', 'separate with spread spectrum'], 'a reference clock')),
    "Reference clock of the two ends of the module's link; common when absent.",
  ),
  Extended_Synch: optional(flag, 'The Extended Synch bit of Link Control.'),
  bit_error_ratio: optional(
    given(
      quantityRule('fraction', 'a bit error ratio', { least: '0', most: BIT_ERROR_RATIO_MOST }),
    ),
    'Errors per bit on each link, such as 1e-12.',
  ),
  ASPM: optional(
    given(choiceRule(['off', 'L0s', 'L1'], 'a setting of ASPM')),
    'Active state power management.',
  ),
  idle_before_low_power: optional(
    given(quantityRule('time', 'a time', { least: '0 s' })),
    'Time without traffic after which a link goes to the power state of ASPM.',
  ),
  relaxed_ordering: optional(flag, 'Whether packets may pass others.'),
  prefixes: optional(
    given(wholeRule('a number of prefixes', 0, PREFIXES_MAX)),
    'Prefixes of 4 B in front of every packet.',
  ),
  working_set: optional(anySize, 'Memory the transfers touch.'),
  remote_socket: optional(flag, 'Whether the buffers are at the other processor socket.'),
  peer_redirection: optional(flag, 'Whether peer traffic goes through the root complex.'),
  generation: optional(generation, 'Generation the link runs at.'),
  width: optional(width, 'Width the link runs at.'),
});

/** The settings, looked over for contradictions. */
export const settings: Shape<Settings> = checked(written, checkSettings);

function checkSettings({ ASPM, idle_before_low_power: idle }: Settings, out: Collector): void {
  if (idle === undefined || (ASPM && ASPM.value !== 'off')) return;
  const next = 'name the power state, L0s or L1, or remove it';
  expectBeside(['idle_before_low_power', idle], 'ASPM', next, out);
}
