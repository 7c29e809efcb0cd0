/** Streams of one case against each other, and the keys of one stream that exclude others. */
import type { Place } from '../../model/basis.ts';
import { equal } from '../../quantity/index.ts';
import type { Stage } from '../case.ts';
import type { Given } from '../given.ts';
import type { Collector } from '../text/problems.ts';
import { placeText, quoted } from '../text/tree.ts';
import type { RatedStream } from './stream.ts';

/** Looks over all streams of a case. */
export function checkStreams(streams: readonly RatedStream[], out: Collector): void {
  checkNames(streams, 'stream', out);
  checkWeights(streams, out);
  for (const stream of streams) {
    checkNames(stream.stages, 'stage', out);
    checkMover(stream, out);
  }
  checkStages(
    streams.flatMap((s) => s.stages),
    out,
  );
}

/** Names must differ: results and measurements are found by them. */
export function checkNames(
  items: readonly { readonly name: string; readonly place: Place }[],
  what: string,
  out: Collector,
): void {
  const seen = new Map<string, Place>();
  for (const { name, place } of items) {
    const earlier = seen.get(name);
    if (earlier === undefined) {
      seen.set(name, place);
      continue;
    }
    out.report('duplicate-name', place, {
      expected: `a ${what} name no other ${what} has`,
      got: `${quoted(name)}, as at ${placeText(earlier)}`,
      next: 'rename one of the two',
    });
  }
}

/** A weight is a share against others: beside it, a stream without one has no share. */
function checkWeights(streams: readonly RatedStream[], out: Collector): void {
  const weighed = streams.find((s) => s.weight !== undefined);
  if (weighed?.weight === undefined) return;
  for (const { weight, name, place } of streams) {
    if (weight !== undefined) continue;
    out.report('contradiction', place, {
      expected: `a weight of every stream, as at ${placeText(weighed.weight.place)}, or of none`,
      got: `none of ${quoted(name)}`,
      next: "add 'weight:' here, or remove the others",
    });
  }
}

/** Keys that steer the module's engine or look for a peer say nothing of a processor. */
function checkMover(stream: RatedStream, out: Collector): void {
  const mover = stream.moved_by;
  if (mover === undefined || mover.value === 'module') return;
  const refuse = (key: string, given: Given<unknown> | undefined, why: string) => {
    if (given === undefined) return;
    out.report('contradiction', given.place, {
      expected: `no ${key}, with moved_by ${quoted(mover.value)} at ${placeText(mover.place)}`,
      got: quoted(String(given.value)),
      next: `remove one of the two: ${why}`,
    });
  };
  refuse('channel', stream.channel, "a channel is one of the module's engine");
  refuse('peer_at', stream.peer_at, 'a processor moves data between the module and the host');
}

/** Stages of one name are one stage, which has one rate. */
function checkStages(stages: readonly Stage[], out: Collector): void {
  const seen = new Map<string, Stage>();
  for (const stage of stages) {
    const earlier = seen.get(stage.name);
    if (earlier === undefined) {
      seen.set(stage.name, stage);
      continue;
    }
    const [a, b] = [earlier.rate.value, stage.rate.value];
    if ((['low', 'expected', 'high'] as const).every((end) => equal(a[end], b[end]))) continue;
    const place = placeText(earlier.rate.place);
    out.report('contradiction', stage.rate.place, {
      expected: `the rate of the stage ${quoted(stage.name)} at ${place}, ${quoted(a.text)}`,
      got: quoted(b.text),
      next: 'give one stage one rate, or rename one of the two',
    });
  }
}
