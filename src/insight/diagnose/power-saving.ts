/** Power saving on Links of the path, and what lengthens the way back. */
import type { DiagnosisFinding } from '../../model/diagnosis.ts';
import { expressValue, type PathLink } from '../topology/index.ts';
import { unpriced } from './price.ts';
import { clause, type DiagnosisContext, finding, shown } from './rule.ts';

const states = ['none', 'L0s', 'L1', 'L0s and L1'];
const l0s = ['64 ns', '128 ns', '256 ns', '512 ns', '1 µs', '2 µs', '4 µs', 'more than 4 µs'];
const l1 = ['1 µs', '2 µs', '4 µs', '8 µs', '16 µs', '32 µs', '64 µs', 'more than 64 µs'];

function endsOf({ upper, lower }: PathLink) {
  return [upper, lower].filter((n) => n !== undefined);
}

/** What leaving the states takes: the longer of both ends, as they state it. */
function exits(link: PathLink, state: number) {
  const longest = (field: string, words: readonly string[]) => {
    const codes = endsOf(link).map((n) => expressValue(n, 'Link Capabilities', field) ?? 0);
    return words[Math.max(...codes)]!;
  };
  return [
    ...(state & 1 ? [shown('leaving L0s takes up to', longest('L0s Exit Latency', l0s))] : []),
    ...(state & 2 ? [shown('leaving L1 takes up to', longest('L1 Exit Latency', l1))] : []),
  ];
}

/** Active State Power Management on any Link of the path. */
export function powerSaving({ links, pricer }: DiagnosisContext): DiagnosisFinding[] {
  return links.flatMap((link, i) => {
    const field = 'Active State Power Management Control';
    const set = endsOf(link).reduce(
      (all, n) => all | (expressValue(n, 'Link Control', field) ?? 0),
      0,
    );
    if (set === 0) return [];
    // The model knows it of the function's own Link alone.
    const own = i === links.length - 1;
    const off = pricer.price((m) => ({ ...m, aspm: 'off' as const }));
    const why =
      'a stream that pauses pays the exit at each start; one that never pauses pays nothing';
    const price = own && off.costs.length > 0 ? off : unpriced(why);
    return [
      finding({
        id: 'aspm-on',
        level: 'caution',
        subject: `power saving of ${link.name}`,
        message: `Active State Power Management enters ${states[set & 3]} when the Link is idle`,
        functions: endsOf(link),
        values: exits(link, set),
        clause: clause('5.4.1', '7.5.3.7'),
        next:
          'switch it off on this Link where latency or a shallow buffer counts, and ' +
          'measure the start of a burst again',
        price,
      }),
    ];
  });
}

/** Extended Synch, a bit for test equipment. */
export function extendedSynch({ links }: DiagnosisContext): DiagnosisFinding[] {
  return links.flatMap((link) => {
    const on = endsOf(link).filter((n) => expressValue(n, 'Link Control', 'Extended Synch') === 1);
    if (on.length === 0) return [];
    return [
      finding({
        id: 'extended-synch',
        level: 'caution',
        subject: `Extended Synch of ${link.name}`,
        message:
          'on: every exit from L0s sends 4096 fast training sequences, and Recovery is longer',
        functions: on,
        values: [shown('Extended Synch', 'set')],
        clause: clause('4.2.5.6', '7.5.3.7'),
        next: 'clear it: it is meant for an analyser on the Link',
        price: unpriced(
          'it lengthens exits from L0s and Recovery only; a Link that stays in L0 pays nothing',
        ),
      }),
    ];
  });
}
