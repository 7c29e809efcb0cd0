/**
 * The visual language of every figure: one type family, three line weights, and series that differ in
 * shape as well as colour, so that they stay apart for colour-blind readers and in grey print. Hues are
 * Paul Tol's `muted` scheme (technical note SRON/EPS/TN/09-002, issue 3.2, figure 3, recalled from
 * memory).
 */

/** Family names from the report's own font to what every machine has. */
export const fontFamily = "'Source Sans 3', 'Segoe UI', 'Noto Sans', 'Liberation Sans', sans-serif";

/** Inks of a figure on white paper. */
export const ink = {
  text: '#1b1f24',
  soft: '#4c5560',
  line: '#b9c0c8',
  paper: '#ffffff',
} as const;

/** Text heights, in units of the view box. */
export const typeSize = { title: 15, text: 12, small: 11 } as const;

/** Line widths: what carries data, what frames it, what lies behind it. */
export const weight = { data: 2, frame: 1, grid: 0.5 } as const;

/** How one kind of series is drawn, wherever it appears. */
export interface SeriesStyle {
  readonly label: string;
  readonly colour: string;
  /** Of a line: `stroke-dasharray`; absent for a whole line. */
  readonly dash?: string;
  /** Of points, by the names of the plotting library. */
  readonly symbol?: 'circle' | 'square' | 'triangle' | 'diamond2' | 'cross';
  /** Of an area around it. */
  readonly fillOpacity?: number;
}

/** The kinds of series that rates come in. */
export const series = {
  measured: { label: 'measured', colour: '#1b1f24', symbol: 'circle' },
  predicted: { label: 'predicted', colour: '#332288', fillOpacity: 0.18 },
  simulated: { label: 'simulated', colour: '#117733', symbol: 'triangle' },
  ceiling: { label: 'ceiling', colour: '#882255', dash: '7 3' },
  required: { label: 'required', colour: '#9c1f1f', dash: '2 3' },
} as const satisfies Readonly<Record<string, SeriesStyle>>;

/** Colours and marks of several series of one kind, in order; more than six belong in a table. */
export const ordered: readonly SeriesStyle[] = [
  { label: '', colour: '#332288', symbol: 'circle' },
  { label: '', colour: '#cc6677', symbol: 'square', dash: '7 3' },
  { label: '', colour: '#117733', symbol: 'triangle', dash: '2 3' },
  { label: '', colour: '#88ccee', symbol: 'diamond2', dash: '7 3 2 3' },
  { label: '', colour: '#882255', symbol: 'cross', dash: '12 4' },
  { label: '', colour: '#999933', symbol: 'circle', dash: '1 2' },
];

/** Fill and sign of a level: the sign carries the meaning where colour does not. */
export const levelStyle = {
  ok: { colour: '#1d5c3f', sign: '✓' },
  caution: { colour: '#7a4b00', sign: '!' },
  unknown: { colour: '#4a4f57', sign: '?' },
  stop: { colour: '#9c1f1f', sign: '×' },
} as const;
