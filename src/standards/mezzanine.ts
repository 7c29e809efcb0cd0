/**
 * Mechanics of the mezzanine: outlines, stacking heights, height budget, cooling pairs, and what
 * each connector position is for. Lengths are millimetres.
 */
import type { Cited } from './mezzanine-cited.ts';

export interface OutlineRow extends Cited {
  readonly outline: 'single' | 'double';
  readonly width: number;
  readonly length: number;
}

/** Module outlines. */
export const outlineRows: readonly OutlineRow[] = [
  {
    outline: 'single',
    width: 74,
    length: 149,
    document: 'IEEE 1386',
    clause: 'module size (read in interfacebus.com/PMC_Card_Pinout.html and memim.com, agreeing)',
    basis: 'standard',
  },
  {
    outline: 'double',
    width: 149,
    length: 149,
    document: 'IEEE 1386',
    clause: 'module size (read in interfacebus.com/PMC_Card_Pinout.html)',
    basis: 'standard',
  },
];

export interface HeightBudgetRow extends Cited {
  /** Stacking height, or undefined for every other height. */
  readonly stack?: number;
  /** Tallest part on module side 1. */
  readonly module: number;
  /** Clearance left between the tallest parts of both boards. */
  readonly clearance: number;
}

const budgetSource = 'hsi.web.cern.ch/HSI/s-link/spec/spec/s-link-37.html';

/**
 * Height budget between the boards. At 10 mm the carrier's share is 10 − 4.70 − 0.60 = 4.70; for
 * other stacks the same module share and clearance are carried over, which no text confirmed.
 */
export const heightBudgetRows: readonly HeightBudgetRow[] = [
  {
    stack: 10,
    module: 4.7,
    clearance: 0.6,
    document: 'IEEE 1386',
    clause: `component heights at 10 mm (read in the S-LINK specification s5.3, ${budgetSource})`,
    basis: 'standard',
  },
  {
    module: 4.7,
    clearance: 0.6,
    document: 'IEEE 1386',
    clause: 'component heights at other stacks: the 10 mm rule carried over, not confirmed',
    basis: 'memory',
  },
];

/** The budget that holds at a stacking height given in millimetres. */
export function heightBudgetRow(stack: number): HeightBudgetRow {
  const row =
    heightBudgetRows.find((r) => r.stack === stack) ??
    heightBudgetRows.find((r) => r.stack === undefined);
  if (row === undefined) throw new RangeError('height budget: the table has no general row');
  return row;
}

export interface CoolingRow extends Cited {
  readonly inner: 'air' | 'conduction';
  readonly outer: 'air' | 'conduction';
  readonly level: 'ok' | 'caution' | 'stop';
  readonly why: string;
}

const coolingPractice = {
  document: 'common practice; conduction outline in VITA 20',
  basis: 'practice',
} as const;

/** A module (inner) on a carrier site (outer). */
export const moduleCoolingRows: readonly CoolingRow[] = [
  {
    inner: 'air',
    outer: 'air',
    level: 'ok',
    why: 'both are cooled by air',
    clause: 'module and site of one kind (no source)',
    ...coolingPractice,
  },
  {
    inner: 'conduction',
    outer: 'conduction',
    level: 'ok',
    why: 'both carry heat to the card edge',
    clause: 'module and site of one kind (no source)',
    ...coolingPractice,
  },
  {
    inner: 'air',
    outer: 'conduction',
    level: 'stop',
    why: 'the site has no bezel opening and no air; the module has no thermal ribs to clamp',
    clause: 'air module on a conduction site (no source)',
    ...coolingPractice,
  },
  {
    inner: 'conduction',
    outer: 'air',
    level: 'caution',
    why: 'the ribs meet no frame, so heat leaves only by air over a module not finned for it',
    clause: 'conduction module on an air site (no source)',
    ...coolingPractice,
  },
];

/** A carrier site (inner) in a slot (outer). */
export const slotCoolingRows: readonly CoolingRow[] = [
  ...moduleCoolingRows.filter((r) => r.level === 'ok'),
  {
    inner: 'air',
    outer: 'conduction',
    level: 'stop',
    why: 'no air passes the slot, and an air-cooled carrier has no wedge locks to take its heat',
    clause: 'air carrier in a conduction slot (no source)',
    ...coolingPractice,
  },
  {
    inner: 'conduction',
    outer: 'air',
    level: 'caution',
    why: 'the slot has no cold wall for the wedge locks',
    clause: 'conduction carrier in an air slot (no source)',
    ...coolingPractice,
  },
];

export interface PositionRow extends Cited {
  readonly connector: 'P11' | 'P12' | 'P13' | 'P14' | 'P15' | 'P16';
  readonly use: string;
  /** Connector families that belong at this position. */
  readonly kind: '64-pin' | '114-pin';
  /** Serial lanes the position has room for. */
  readonly lanesMax: number;
  /** User I/O signals the position has room for. */
  readonly signalsMax: number;
}

const pmcPins = 'connector use (read in interfacebus.com/PMC_Card_Pinout.html and memim.com)';
const xmcPins = 'pin use (read in the schematic github.com/elhep/XMC_ZynQ at a854b0e)';

/** The connector positions. P16: 20 pairs and 38 single signals, 78 pins beside 36 of ground. */
export const positionRows: readonly PositionRow[] = [
  ...(['P11', 'P12'] as const).map(
    (connector): PositionRow => ({
      connector,
      use: '32-bit PCI',
      kind: '64-pin',
      lanesMax: 0,
      signalsMax: 0,
      document: 'IEEE 1386.1',
      clause: pmcPins,
      basis: 'standard',
    }),
  ),
  {
    connector: 'P13',
    use: '64-bit PCI extension',
    kind: '64-pin',
    lanesMax: 0,
    signalsMax: 0,
    document: 'IEEE 1386.1',
    clause: pmcPins,
    basis: 'standard',
  },
  {
    connector: 'P14',
    use: '64 user I/O signals',
    kind: '64-pin',
    lanesMax: 0,
    signalsMax: 64,
    document: 'IEEE 1386.1',
    clause: pmcPins,
    basis: 'standard',
  },
  {
    connector: 'P15',
    use: 'fabric, up to 8 lanes',
    kind: '114-pin',
    lanesMax: 8,
    signalsMax: 0,
    document: 'ANSI/VITA 42.3',
    clause: xmcPins,
    basis: 'standard',
  },
  {
    connector: 'P16',
    use: 'user I/O, or a second set of up to 8 lanes',
    kind: '114-pin',
    lanesMax: 8,
    signalsMax: 78,
    document: 'ANSI/VITA 42.0',
    clause: xmcPins,
    basis: 'standard',
  },
];

/** The row of a position. */
export function positionRow(connector: PositionRow['connector']): PositionRow {
  const row = positionRows.find((r) => r.connector === connector);
  if (row === undefined) throw new RangeError(`connector: expected P11 to P16; got ${connector}`);
  return row;
}

/** Lanes 8 to 15 of a sixteen-lane link lie on P16. */
export const sixteenLanesRow: Cited = {
  document: 'ANSI/VITA 42.3',
  clause: 'lanes 8 to 15 on P16, same rows as on P15 (from memory)',
  basis: 'memory',
};

/** Roles: one root a tree; the carrier's ROOT0# strap tells a module that it may be it. */
export const rolesRow: Cited = {
  document: 'PCI Express Base Specification',
  clause: 'topology, one root complex a hierarchy; common practice for the rest (no source)',
  basis: 'practice',
};

/** The strap a module with both roles looks at. */
export const rootStrapRow: Cited = {
  document: 'ANSI/VITA 42.3',
  clause: 'ROOT0# on P15 pin E19, low: the module may act as root complex (from memory)',
  basis: 'memory',
};

/** Thermal qualification belongs to module and carrier together. */
export const thermalQualificationRow: Cited = {
  document: 'SOSA Technical Standard, Edition 1.0 Snapshot 2 (2019)',
  clause: 'Observation 5.2.21-1',
  basis: 'standard',
};
