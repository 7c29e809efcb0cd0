/** The lines that are looked for in a waveform, and how people name them (common practice, no source). */

/** One bit of a variable of a waveform, counted from the right. */
export interface BitSource {
  /** Index of the variable in its declarations. */
  readonly variable: number;
  readonly bit: number;
}

/** One line, or lines that are numbered, of an interface. */
export interface LineSpec {
  /** As the standard writes it: a `#` says that it is asserted when low. */
  readonly id: string;
  /** Words of its name, each a list of words that follow one another: `frame`, `c be`. */
  readonly stems: readonly string[];
  /** Nothing can be said without it. */
  readonly needed: boolean;
  /** Most lines of this name; 1 for a single line. */
  readonly most: number;
  /**
   * `level`: what counts is the level itself (AD, C/BE#, data); `low`: a line of an open standard that
   * is asserted when low; `high`: asserted when high unless its name says otherwise.
   */
  readonly active: 'level' | 'low' | 'high';
}

function line(
  id: string,
  stems: string,
  active: LineSpec['active'],
  needed = false,
  most = 1,
): LineSpec {
  return { id, stems: stems.split('|'), needed, most, active };
}

/** Lines that a whole design may share: they need not be named as the rest of the interface is. */
export const sharedLines: ReadonlySet<string> = new Set(['CLK', 'RST#', 'reset#']);

/** Lines of PCI and PCI-X. */
export const busLines: readonly LineSpec[] = [
  line('CLK', 'clk|clock', 'level', true),
  line('RST#', 'rst|reset', 'low'),
  line('FRAME#', 'frame', 'low', true),
  line('IRDY#', 'irdy', 'low', true),
  line('TRDY#', 'trdy', 'low', true),
  line('DEVSEL#', 'devsel', 'low', true),
  line('STOP#', 'stop', 'low', true),
  line('AD', 'ad', 'level', false, 64),
  line('C/BE#', 'cbe|c be|cxbe|c xbe', 'level', false, 8),
  line('REQ#', 'req', 'low', false, 32),
  line('GNT#', 'gnt', 'low', false, 32),
  line('REQ64#', 'req64', 'low'),
  line('ACK64#', 'ack64', 'low'),
  line('LOCK#', 'lock', 'low'),
  line('PERR#', 'perr', 'low'),
  line('SERR#', 'serr', 'low'),
  line('INTA#', 'inta', 'low'),
  line('INTB#', 'intb', 'low'),
  line('INTC#', 'intc', 'low'),
  line('INTD#', 'intd', 'low'),
];

/** Widest data of a stream, bits. */
export const STREAM_BITS_MAX = 4096;

/** Lines of a stream with a valid and ready handshake, as in AMBA AXI-Stream (ARM IHI 0051). */
export const streamLines: readonly LineSpec[] = [
  line('CLK', 'clk|clock|aclk', 'level', true),
  line('valid', 'tvalid|valid|vld', 'high', true),
  line('ready', 'tready|ready|rdy', 'high', true),
  line('data', 'tdata|data', 'level', false, STREAM_BITS_MAX),
  line('keep', 'tkeep|keep|tstrb|strb|be', 'high', false, STREAM_BITS_MAX / 8),
  line('last', 'tlast|last|eop', 'high'),
  line('reset#', 'areset|arst|reset|rst', 'low'),
];
