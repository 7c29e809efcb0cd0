/** Rules of the signals around the link: what each rests on. */
import type { Cited } from './mezzanine-cited.ts';

const practice = { document: 'common practice, no source', basis: 'practice' } as const;
const memory = (document: string) => ({ document, basis: 'memory' }) as const;

/** One row a rule, by the rule's name. */
export const linkSignalRows = {
  clock: {
    ...practice,
    clause:
      'a link needs a common clock, or two without spread, or ports that tolerate both spread',
  },
  lanes: {
    ...memory('PCI Express Base Specification'),
    clause: 'polarity inversion is mandatory, lane reversal optional (from memory)',
  },
  firstLane: { ...practice, clause: 'a narrower link uses the lowest lanes, lane 0 first' },
  split: { ...practice, clause: 'a split port trains at most as wide as its part' },
  reset: { ...practice, clause: 'a reset has to last as long as the receiver needs to see it' },
  selfTest: {
    ...practice,
    clause: 'MBIST# held low holds some carriers in bring-up: the limit has to be the longer',
  },
  protection: {
    ...memory('ANSI/VITA 42.0'),
    clause: 'MVMRO high: non-volatile memory is not written (from memory)',
  },
  scan: { ...practice, clause: 'a chain has to bypass an empty site' },
  management: {
    document: 'common practice, no source',
    basis: 'practice',
    clause: 'two devices on a bus need two addresses; strap order differs between designs',
  },
} as const satisfies Readonly<Record<string, Cited>>;
