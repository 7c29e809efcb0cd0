/**
 * Colours and patterns of the accounts. The nine hues of accounts that use the wire are Paul Tol's
 * `muted` scheme for colour-blind readers (technical note SRON/EPS/TN/09-002, issue 3.2, figure 3,
 * recalled from memory), with one blue and two browns beside them; accounts that wait are grey patterns
 * on a light ground. Each segment also bears its letter, so colour is never the only sign.
 */
import type { AccountId } from '../model/accounts.ts';

/** Fill of a segment and the ink of its letter, `#rrggbb`. */
export interface Swatch {
  readonly fill: string;
  readonly ink: '#ffffff' | '#000000';
  /** An SVG path drawn over the fill in an 8 by 8 tile. */
  readonly pattern?: string;
}

const white = '#ffffff';
const black = '#000000';

export const swatches: Readonly<Record<AccountId, Swatch>> = {
  payload: { fill: '#332288', ink: white },
  headers: { fill: '#88ccee', ink: black },
  framing: { fill: '#44aa99', ink: black },
  padding: { fill: '#ddcc77', ink: black },
  line_code: { fill: '#cc6677', ink: black },
  clock_compensation: { fill: '#882255', ink: white },
  requests: { fill: '#117733', ink: white },
  descriptors: { fill: '#999933', ink: black },
  acknowledgements: { fill: '#aa4499', ink: white },
  credit_updates: { fill: '#6699cc', ink: black },
  credit_stall: { fill: '#f2f2f2', ink: black, pattern: 'M-2 2L2 -2M0 8L8 0M6 10L10 6' },
  request_stall: { fill: '#f2f2f2', ink: black, pattern: 'M-2 6L2 10M0 0L8 8M6 -2L10 2' },
  source_gap: { fill: '#e2e2e2', ink: black, pattern: 'M2 0V8M6 0V8' },
  setup: { fill: '#e2e2e2', ink: black, pattern: 'M0 2H8M0 6H8' },
  translation: { fill: '#e2e2e2', ink: black, pattern: 'M0 2H3M5 2H8M1 6H6' },
  arbitration: { fill: '#ececec', ink: black, pattern: 'M0 0L8 8M0 8L8 0' },
  turnaround: { fill: '#ececec', ink: black, pattern: 'M4 0V8' },
  wait_states: { fill: '#ececec', ink: black, pattern: 'M0 4H8' },
  retry: { fill: '#aa7744', ink: black },
  power_exit: { fill: '#e2e2e2', ink: black, pattern: 'M2 0V3M2 5V8M6 1V6' },
  replay: { fill: '#661100', ink: white },
  idle: { fill: '#fafafa', ink: black, pattern: 'M3.5 4H4.5' },
};
