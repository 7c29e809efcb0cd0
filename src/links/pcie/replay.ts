/**
 * What bit errors cost on average. A packet with an error, and all that followed it until the transmitter
 * learned of it, are sent again (SPEC 6.3 §3.6): that time is lost. How long it is, is a parameter; how
 * often, the bit error ratio times the bits that pass on all lanes.
 *
 * Limits: every error costs one replay, though some fall on fill or on ordered sets; errors do not
 * cluster; recovery of a link after errors of framing is not counted.
 */
import type { Loss } from '../fabric.ts';
import { compensation, ticksPerBit } from './charge.ts';
import type { PcieConfig } from './config.ts';

const exabit = 10n ** 18n;
const longestExact = BigInt(Number.MAX_SAFE_INTEGER);

/**
 * Replays of a direction. What is sent in vain is lost already, so an error in it costs nothing more:
 * each mean time between errors of useful packets is followed by the time of one replay. That is the
 * efficiency of repeating from the packet that failed, (1 − p) / (1 + (N − 1) p) for errors of chance p a
 * packet and N packets' time a replay, where packets are short beside the time between errors.
 *
 * The interval is that mean time, cut to whole intervals of clock compensation (and to 2^53 ticks) so that
 * windows of both close soon; the loss is cut with it.
 *
 * @throws RangeError for errors without the time that a replay takes
 */
export function losses(config: PcieConfig): Loss[] {
  const errors = config.errorsPerExabit ?? 0;
  if (errors === 0) return [];
  if (config.replayTicks === undefined) {
    throw new RangeError('a bit error ratio needs the time that a replay takes');
  }
  const { n, d } = ticksPerBit(config);
  // Mean ticks between errors are `all / among`.
  const all = exabit * n;
  const among = BigInt(errors) * d;
  const mean = all / among;
  const window = BigInt(compensation(config).interval);
  const most = mean < longestExact ? mean : longestExact;
  const interval = most < window ? most : most - (most % window);
  const replays = BigInt(config.replayTicks) * among;
  const lost = (replays * interval + all + replays - 1n) / (all + replays);
  // A link that does nothing but replay is left one tick: a rate of zero has no ledger.
  const allButOne = interval - 1n;
  return [
    {
      account: 'replay',
      interval: Number(interval),
      lost: Number(lost < allButOne ? lost : allButOne),
    },
  ];
}
