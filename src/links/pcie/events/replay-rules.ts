/** Rules of a link's replay buffer in system ticks. */
import { flitReplayDefaults, replayBufferDefaults } from '../../../standards/pcie-replay-buffer.ts';
import { ticksPerByte, ticksPerSymbolTime } from '../charge.ts';
import type { PcieConfig, ReplayRules } from '../config.ts';
import { flitBytes } from '../flit.ts';

/** Bytes of an Ack or Nak with its framing. */
const linkPacketBytes = 8;

/**
 * Rules of one direction, or undefined where every packet arrives: without bit errors and without rules
 * of its own a link's buffer never fills and its timers never run out.
 *
 * A stated time of a replay sets how long the Nak takes, so that a replay costs that time: the bad packet,
 * the Nak, and on average half of the packet that is on the wire when it comes. Where that is longer than
 * the standard's replay timer the timer is put behind it.
 *
 * @param longest ticks of the hop of the longest packet of this direction
 */
export function replayRules(config: PcieConfig, longest: number): ReplayRules | undefined {
  const { replay, replayTicks } = config;
  const errs = (config.errorsPerExabit ?? 0) > 0;
  if (!errs && replay === undefined) return undefined;
  const found = replayBufferDefaults(config);
  const symbolTime = ticksPerSymbolTime(config);
  const stated = errs ? replayTicks : undefined;
  const nak = linkPacketBytes * ticksPerByte(config);
  const beside = longest + nak + (longest >> 1);
  return {
    packets: found.packets,
    bytes: found.bytes,
    timerTicks: Math.max(found.timer * symbolTime, stated === undefined ? 0 : stated + 4 * longest),
    ackTicks: found.ack * symbolTime,
    nakTicks: stated === undefined ? found.nak * symbolTime : Math.max(0, stated - beside),
    ...replay,
  };
}

/**
 * Rules of a direction in flit mode, or undefined as above. The bad flit and the flit with the Nak pass;
 * the rest of a stated time of a replay is the receiver's.
 */
export function flitReplayRules(config: PcieConfig): ReplayRules | undefined {
  const { replay, replayTicks } = config;
  const errs = (config.errorsPerExabit ?? 0) > 0;
  if (!errs && replay === undefined) return undefined;
  const flit = flitBytes.packets * ticksPerByte(config);
  const { flits, nakFlits } = flitReplayDefaults;
  const stated = errs ? replayTicks : undefined;
  return {
    packets: flits,
    bytes: flits * flitBytes.all,
    timerTicks: 0,
    ackTicks: 0,
    nakTicks: stated === undefined ? nakFlits * flit : Math.max(0, stated - 2 * flit),
    ...replay,
  };
}
