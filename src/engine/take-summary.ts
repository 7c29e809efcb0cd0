/** What a bus or a stream did as a whole, for the document. */
import type { BusReading, StreamReading, WaveformReading } from '../insight/waveform/index.ts';
import { phases } from '../links/pci/layout.ts';
import { busCommandTable } from '../links/pci/observe-commands.ts';
import type { TransferTotal } from '../links/pci/observe-tally.ts';
import { endings } from '../links/pci/observe-transfer.ts';
import type {
  CapturedBus,
  CapturedCount,
  CapturedGroup,
  CapturedInterface,
  CapturedStream,
} from '../model/capture.ts';
import { div, mul, type Rational, rational, toNumber } from '../quantity/index.ts';
import { conventionalDecode, pcixDecode } from '../standards/pci-bus.ts';

/** The interface and its clock; `clock` in seconds. */
export function interfaceOf(
  { reading, edges, summary }: WaveformReading,
  clock: Rational | undefined,
): CapturedInterface {
  const own = reading!;
  const unit = summary.declarations?.timescale;
  const inSeconds = (units: number) => toNumber(mul(unit!, rational(BigInt(units))));
  return {
    kind: own.kind === 'stream' ? 'stream' : own.mode === 'pci' ? 'PCI' : 'PCI-X',
    widthBits: own.kind === 'bus' ? own.widthBits : 8 * own.lanes,
    decidedBy: decidedBy(own),
    clocks: edges.edges,
    ...(clock && {
      clockSeconds: toNumber(clock),
      clockRational: `${clock.n}/${clock.d}`,
      clockLeast: inSeconds(edges.least),
      clockGreatest: inSeconds(edges.greatest),
      seconds: toNumber(mul(clock, rational(BigInt(edges.edges)))),
    }),
  };
}

function decidedBy(reading: BusReading | StreamReading): string {
  if (reading.kind === 'stream') return 'lines of a valid and ready handshake';
  if (reading.named) return 'named';
  const { evidence } = reading;
  return evidence ? `${evidence.because}, at clock ${evidence.clock}` : 'nothing: assumed';
}

/** Bytes per second over all clocks; undefined without a clock period. */
function rateOf(bytes: number, clocks: number, clock: Rational | undefined): number | undefined {
  if (clock === undefined || clocks === 0) return undefined;
  return toNumber(div(rational(BigInt(bytes)), mul(clock, rational(BigInt(clocks)))));
}

export function busOf({ observer, mode }: BusReading, clock: Rational | undefined): CapturedBus {
  const { tally } = observer;
  const group = (name: string, total: TransferTotal): CapturedGroup => {
    const rate = rateOf(total.bytes, observer.clocks, clock);
    return { name, ...total, ...(rate !== undefined && { rate }) };
  };
  const groups = (totals: readonly (TransferTotal | undefined)[], name: (i: number) => string) =>
    totals.flatMap((total, i) => (total === undefined ? [] : [group(name(i), total)]));
  const table = busCommandTable(mode);
  return {
    total: group('all', tally.total),
    commands: groups(tally.commands, (i) => table[i]?.title ?? 'unknown command'),
    masters: groups(tally.masters, (i) => (i < 32 ? `master ${i}` : 'unknown master')),
    endings: some(endings.map((name) => ({ name, count: tally.endings[name] }))),
    decode: some(tally.decodes.map((count, i) => ({ name: decodeName(mode, i), count }))),
    phases: some(observer.phases().map((count, i) => ({ name: phases[i]!.title, count }))),
    interrupts: some(tally.interrupts.map((count, i) => ({ name: `INT${'ABCD'[i]}#`, count }))),
  };
}

function some(counts: readonly CapturedCount[]): CapturedCount[] {
  return counts.filter(({ count }) => count > 0);
}

/** What the standard calls an answer of so many clocks. */
function decodeName(mode: BusReading['mode'], clocks: number): string {
  if (clocks === 0) return 'no answer';
  const rows = Object.entries(mode === 'pci' ? conventionalDecode : pcixDecode);
  const name = rows.find(([, row]) => row.clocks === clocks)?.[0];
  if (name !== undefined) return name;
  return clocks === 7 ? '7 clocks or more' : `${clocks} clocks`;
}

export function streamOf(
  { observer, framed }: StreamReading,
  clock: Rational | undefined,
): CapturedStream {
  const rate = rateOf(observer.bytes, observer.clocks, clock);
  return {
    beats: observer.beats,
    bytes: observer.bytes,
    padding: observer.padding,
    ...(rate !== undefined && { rate }),
    sourceGap: observer.gaps,
    backPressure: observer.held,
    reset: observer.reset,
    ...(framed && { packets: observer.packets }),
  };
}
