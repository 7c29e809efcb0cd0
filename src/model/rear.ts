import type { Basis } from './basis.ts';

/** What becomes of a signal that the module brings out at the rear. */
export type RearStanding = 'reaches' | 'lost' | 'not known' | 'ends on the carrier';

/** One signal of the module on its way to the backplane. */
export interface RearRow {
  /** The module's own name of it; the pin where it has none. */
  readonly signal: string;
  /** Pin of the mezzanine connector. */
  readonly pin: string;
  /** Pin of the other half of its pair. */
  readonly mate?: string;
  /** As the module has it. */
  readonly direction?: 'in' | 'out' | 'both';
  readonly level?: string;
  /** Contact of the backplane, `P2-A9`. */
  readonly contact?: string;
  /** What says so: `P2w1-X8d`, `P4V2-64ac`, or `map`. */
  readonly by?: string;
  readonly standing: RearStanding;
}

/** The rear I/O of one connector, pin by pin in the order of its pins. */
export interface RearTable {
  readonly connector: 'P14' | 'P16';
  /** Patterns as written, and `map` where one is given. */
  readonly routes: readonly string[];
  /** True where a pattern counts whose list is from memory: not to be wired by. */
  readonly draft: boolean;
  readonly basis: Basis;
  /** References of what the contacts come from. */
  readonly references: readonly string[];
  readonly rows: readonly RearRow[];
}
