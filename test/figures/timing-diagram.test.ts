/** Timing diagrams of simulated transfers: what each clock is, and what is drawn of it. */
import { describe, expect, test } from 'vitest';
import { timingDiagram, waveJson } from '../../src/figures/index.ts';
import type { WaveLane } from '../../src/figures/timing-diagram.ts';
import { BusSimulation, phaseIndex, type SegmentConfig } from '../../src/links/pci/index.ts';
import { labelClocks } from '../../src/links/pci/label.ts';
import type { BusSample } from '../../src/links/pci/sample.ts';
import type { LabelledClock } from '../../src/model/bus-lines.ts';

const never = { write: 0, writeAndInvalidate: 0, read: 0, readLine: 0, readMultiple: 0 };

function segment(speed: 'pci_33' | 'pcix_133', kind: 'write' | 'read', late = 0): SegmentConfig {
  const pcix = speed === 'pcix_133';
  const read = pcix ? 'read line' : 'read';
  return {
    bus: {
      speed,
      widthBits: 32,
      arbiter: { rule: 'rotating', grantClocks: 2, parking: 'none' },
    },
    masters: [
      {
        name: 'card',
        widthBits: 32,
        latencyTimer: 64,
        burstBytes: 64,
        boundaryBytes: 0,
        lineBytes: 32,
        initialWait: 0,
        subsequentWait: 0,
        fastBackToBack: false,
        keepsRequest: false,
        requestAfter: 2,
        retryPause: 0,
        outstanding: 1,
      },
    ],
    targets: [
      {
        name: 'host',
        widthBits: 32,
        decode: pcix ? 'B' : 'medium',
        initialWait: late,
        subsequentWait: 0,
        disconnectAt: never,
        disconnectWithData: true,
        reads: 'immediate',
        readDelay: 0,
        pendingReads: 1,
        fetchBytes: 0,
      },
    ],
    streams: [
      {
        kind,
        command: kind === 'write' ? 'write' : read,
        target: 0,
        address: 0x1000,
        bytes: 192,
        gap: 0,
        count: 2,
      },
    ],
  };
}

function recorded(config: SegmentConfig) {
  const samples: BusSample[] = [];
  const simulation = new BusSimulation(config, { sink: { clock: (s) => samples.push({ ...s }) } });
  simulation.runToEnd();
  const clocks = labelClocks(simulation.mode, samples);
  return { simulation, clocks };
}

const count = (clocks: readonly LabelledClock[], kind: LabelledClock['kind']) =>
  clocks.filter((c) => c.kind === kind).length;

describe('labels of clocks', () => {
  test.each([
    ['pci_33', 'write'],
    ['pci_33', 'read'],
    ['pcix_133', 'write'],
    ['pcix_133', 'read'],
  ] as const)('%s %s: as many of each kind as the ledger counts', (speed, kind) => {
    const { simulation, clocks } = recorded(segment(speed, kind, 3));
    const phases = simulation.tally.phases();
    const of = (id: keyof typeof phaseIndex) => phases[phaseIndex[id]]!;
    expect(count(clocks, 'address')).toBe(of('address'));
    expect(count(clocks, 'attribute')).toBe(of('attribute'));
    expect(count(clocks, 'data')).toBe(of('data'));
    expect(count(clocks, 'turnaround')).toBe(of('turnaround') + of('read_turnaround'));
    expect(count(clocks, 'response')).toBe(of('response'));
    expect(count(clocks, 'wait')).toBe(of('wait'));
    expect(count(clocks, 'arbitration')).toBe(of('arbitration'));
  });
});

test('a Split Response is no data', () => {
  const base = segment('pcix_133', 'read');
  const [target] = base.targets;
  const config = {
    ...base,
    targets: [{ ...target!, reads: 'split' as const, readDelay: 20, fetchBytes: 128 }],
  };
  const { simulation, clocks } = recorded(config);
  const phases = simulation.tally.phases();
  expect(count(clocks, 'data')).toBe(phases[phaseIndex.data]);
  expect(count(clocks, 'split response')).toBe(simulation.masters[0]!.counts.transactions);
  expect(clocks.some((c) => c.command === 'Split Completion')).toBe(true);
});

describe('diagrams', () => {
  const { clocks } = recorded(segment('pci_33', 'write'));
  const diagram = { title: 'a write', clocks: clocks.slice(0, 40), masters: ['card'] };

  test('every lane has the same number of clocks, long runs are gaps', () => {
    const { signal } = waveJson(diagram);
    const lanes = signal.filter((s) => 'wave' in s) as { name: string; wave: string }[];
    expect(new Set(lanes.map((l) => l.wave.length)).size).toBe(1);
    expect(lanes.map((l) => l.name)).toEqual([
      'CLK',
      'REQ# card',
      'GNT# card',
      'FRAME#',
      'AD',
      'C/BE#',
      'IRDY#',
      'DEVSEL#',
      'TRDY#',
      'STOP#',
      'command',
      'clock is',
    ]);
    expect(lanes.every((l) => l.wave.includes('|'))).toBe(true);
    expect(lanes[0]!.wave.length).toBeLessThan(40);
  });

  test('shows address and command of the transaction', () => {
    const { signal } = waveJson(diagram);
    const data = (name: string) =>
      (signal.filter((s) => 'wave' in s) as WaveLane[]).find((s) => s.name === name)!.data!;
    expect(data('AD')[0]).toBe('00001000');
    expect(data('command')[0]).toBe('Memory Write');
    expect(data('clock is')).toContain('turnaround');
  });

  test('is one SVG with a title, the same each time, and safe from foreign names', () => {
    const hostile = { ...diagram, masters: ['<script>&'], title: 'a <b> & "c"' };
    const svg = timingDiagram(hostile);
    expect(svg).toMatch(/^<svg [^>]*>/);
    expect(svg).not.toContain('<script>');
    expect(svg).toContain('a &lt;b&gt; &amp; &quot;c&quot;');
    expect(timingDiagram(hostile)).toBe(svg);
  });
});
