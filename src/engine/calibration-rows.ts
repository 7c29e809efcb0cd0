/** From what a calibration knows to rows of its documents. */
import {
  type CalibrationKey,
  type KindKnowledge,
  type Knowledge,
  type PredictedPoint,
  parameterOf,
} from '../insight/calibrate/index.ts';
import type { NextMeasurement } from '../insight/next/next.ts';
import { linkText, type PointSpec } from '../insight/point-model.ts';
import type {
  CalibratedKindRow,
  IdentityRow,
  NextRow,
  PredictionRow,
} from '../model/calibration.ts';
import type { Level } from '../model/finding.ts';
import { div, formatPercent, formatSize, rational, toNumber } from '../quantity/index.ts';
import type { TimingSettings } from '../readers/index.ts';
import { defaultRows } from '../standards/defaults.ts';
import { type Identity, identityKeys } from '../system/calibration.ts';
import type { Case, Stream } from '../system/case.ts';
import { needOf } from './advise.ts';

/** `dma.setup_per_transfer`: the key as the part has it. */
export function partKey(key: CalibrationKey): string {
  return parameterOf(key).path.join('.');
}

/** A whole size as people write it, without rounding: `129 B`, `4 KiB`. */
export function sizeText(bytes: number): string {
  return bytes >= 1024 && bytes % 1024 === 0 ? formatSize(bytes) : `${bytes} B`;
}

export function kindRows(kinds: Knowledge['kinds']): CalibratedKindRow[] {
  return (['write', 'read'] as const).flatMap((kind) => {
    const known: KindKnowledge | undefined = kinds[kind];
    if (!known) return [];
    const { points, scatter, degrees, sizes, settings: links } = known;
    return [{ kind, points, scatter, degrees, sizes, links }];
  });
}

/** Every key of an identity, `not stated` where nobody said. */
export function identityRows(identity: Partial<Record<string, string>>): IdentityRow[] {
  return [...identityKeys, 'adapter'].map((key) => ({
    name: key.replaceAll('_', ' ').replace('fpga', 'FPGA'),
    text: identity[key] ?? 'not stated',
  }));
}

/** The identity of a saved part as plain texts. */
export function plainIdentity({ adapter, ...texts }: Identity): Partial<Record<string, string>> {
  return { ...texts, adapter: adapter.value };
}

/** Streams that the module's engine moves, with what is asked of each. */
export interface Target {
  readonly stream: Stream;
  readonly spec: PointSpec;
}

/** Transfers of the streams as the case has them, or at a size and with settings that are asked for. */
export function targetsOf(
  c: Case,
  asked: { readonly size?: number; readonly settings?: TimingSettings } = {},
): Target[] {
  const { size, settings = {} } = asked;
  return c.streams.flatMap((stream, streamIndex): Target[] => {
    if ((stream.moved_by?.value ?? 'module') !== 'module') return [];
    const direction = stream.direction.value;
    const kind = direction === 'to host' ? 'write' : 'read';
    const sizeBytes = size ?? transferBytes(stream);
    const spec = {
      kind,
      direction,
      sizeBytes,
      streamIndex,
      settings,
      place: stream.place,
    } as const;
    return [{ stream, spec }];
  });
}

/** Expected size of a stream's transfers; the default's where the case says none. */
function transferBytes({ transfer }: Stream): number {
  if (!transfer) return defaultRows.transfer_size.range().expected;
  return Math.max(1, Math.round(toNumber(div(transfer.size.value.expected, rational(8)))));
}

export function predictionRow(c: Case, { stream }: Target, p: PredictedPoint): PredictionRow {
  const required = toNumber(div(stream.required.value.high, rational(8)));
  const need = needOf(stream.required.value.high, stream.headroom.value.high);
  const { low, expected, high, kind } = p;
  const level: Level = need <= low ? 'ok' : required <= high ? 'caution' : 'stop';
  return {
    stream: stream.name,
    kind: p.spec.kind,
    sizeBytes: p.spec.sizeBytes,
    link: linkText(c, p.spec),
    range: { low, expected, high, kind },
    ceiling: p.ceiling,
    limitedBy: p.limitedBy,
    required,
    need,
    level,
    extrapolated: p.extrapolated,
    width: p.width,
  };
}

/** The stream whose verdict is least sure: the widest range among those not decided, else of all. */
export function leastSure(rows: readonly PredictionRow[]): number {
  const width = ({ range }: PredictionRow) => (range.high - range.low) / range.expected;
  const open = rows.some(({ level }) => level === 'caution');
  let best = -1;
  rows.forEach((row, i) => {
    if (open && row.level !== 'caution') return;
    if (best < 0 || width(row) > width(rows[best]!)) best = i;
  });
  return best;
}

export function nextRow(next: NextMeasurement, target: PredictionRow): NextRow {
  const { spec, link, before, after, separates } = next;
  const what = `${spec.kind}s of ${sizeText(spec.sizeBytes)} at ${link}`;
  const narrows =
    formatPercent(before) !== formatPercent(after)
      ? `the range of ${target.stream} is expected to narrow from ±${formatPercent(before)} to ±${formatPercent(after)}`
      : `the range of ${target.stream} stays`;
  const apart = separates.map(([a, b]) => `"${a}" from "${b}"`).slice(0, 3);
  const tells = apart.length === 0 ? '' : `; it tells ${apart.join(', and ')}`;
  return {
    kind: spec.kind,
    sizeBytes: spec.sizeBytes,
    link,
    narrows: target.stream,
    before,
    after,
    separates,
    text: `Time ${what}: ${narrows}${tells}.`,
  };
}
