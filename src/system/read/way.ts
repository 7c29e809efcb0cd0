/** What a case says about its way and its module, checked against the parts found. */
import type { CaseEvidence, Neighbour } from '../case.ts';
import type { Given } from '../given.ts';
import type { ModulePart, SwitchPart } from '../parts.ts';
import type { RatedStream } from '../schema/stream.ts';
import { spellingHelp } from '../text/nearest.ts';
import type { Collector } from '../text/problems.ts';
import { placeText, quoted } from '../text/tree.ts';

/** Neighbours and peers sit below switches of the way. */
export function checkWay(
  neighbours: readonly Neighbour[],
  streams: readonly RatedStream[],
  switches: readonly SwitchPart[],
  out: Collector,
): void {
  const ids = [...new Set(switches.map((s) => s.id))];
  const named = [...neighbours.map((n) => n.at), ...streams.map((s) => s.peer_at)];
  for (const at of named) {
    if (at === undefined || ids.includes(at.value)) continue;
    out.report('unknown-part', at.place, {
      expected: 'the id of a switch between the module and the host',
      got: quoted(at.value),
      next: spellingHelp(at.value, ids, 'switch'),
    });
  }
}

/** A stream's channel is one that the module's engine has. */
export function checkChannels(
  streams: readonly RatedStream[],
  module: ModulePart,
  out: Collector,
): void {
  const channels: Given<number> | undefined = module.dma?.channels;
  for (const { channel } of streams) {
    if (channel === undefined || channel.value < (channels?.value ?? 1)) continue;
    const have = channels
      ? `${channels.value} at ${placeText(channels.place)}`
      : `1, as ${quoted(module.id)} does not say`;
    out.report('contradiction', channel.place, {
      expected: `a channel below the number of channels of the engine, ${have}`,
      got: `${channel.value}`,
      next: "correct one of the two; channels count from 0, and 'dma.channels' says how many",
    });
  }
}

/** Evidence speaks of streams that the case has. */
export function checkEvidence(
  evidence: readonly CaseEvidence[],
  streams: readonly RatedStream[],
  out: Collector,
): void {
  const names = streams.map((s) => s.name);
  for (const { stream } of evidence) {
    if (stream === undefined || names.includes(stream.value)) continue;
    out.report('not-allowed', stream.place, {
      expected: 'the name of a stream of this case',
      got: quoted(stream.value),
      next: spellingHelp(stream.value, names, 'stream'),
    });
  }
}
