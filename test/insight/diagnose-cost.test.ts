/** Prices of findings against worked arithmetic and published measurements. */
import { beforeAll, describe, expect, test } from 'vitest';
import { diagnoseDump } from '../../src/engine/index.ts';
import type {
  DiagnosisFinding,
  FunctionDiagnosis,
  TransferKind,
} from '../../src/model/diagnosis.ts';
import { type Bench, healthy, neighbour, path, setLink, train } from './diagnose-rig.ts';

const { root, upstream, downstream, endpoint } = path;
const PCIE = 'PCI Express';

let good: Bench;
beforeAll(async () => {
  good = await healthy();
});

function diagnosed(bench: Bench): FunctionDiagnosis {
  const asked = diagnoseDump(bench.document(), endpoint);
  if (!asked.ok) throw new Error(JSON.stringify(asked.problems));
  return asked.value.functions[0]!;
}

function findingOf(bench: Bench, id: string): DiagnosisFinding {
  return diagnosed(bench).findings.find((f) => f.id === id)!;
}

const cost = (f: DiagnosisFinding, kind: TransferKind) => f.costs.find((c) => c.kind === kind)!;
const lost = (f: DiagnosisFinding, kind: TransferKind) => {
  const { asFound, without } = cost(f, kind);
  return 1 - asFound / without;
};

/** Both Links of the path as given, the function beside it as slow as it gets. */
function with_(link: { speed: number; width: number }, payload: number): Bench {
  const bench = good.copy();
  bench.without(neighbour.downstream, neighbour.endpoint);
  setLink(bench, [root, upstream], link);
  setLink(bench, [downstream, endpoint], link);
  for (const address of Object.values(path)) {
    bench.set([address, PCIE, 'Device Control', 'Max_Payload_Size'], payload);
  }
  return bench;
}

describe('payload size', () => {
  test('128 B in place of 256 B costs writes what the headers take', () => {
    const found = findingOf(with_({ speed: 1, width: 1 }, 0), 'payload-small');
    // 8b/10b symbols of a write at a 64-bit address: 2 + 2 + 16 + payload + 4 (PCI Express Base
    // Specification 6.3 §4.2.1, §3.6.1, §2.2.1); one symbol is the 4 ns an engine pauses.
    const share = (payload: number) => payload / (24 + payload + 1);
    expect(lost(found, 'write')).toBeCloseTo(1 - share(128) / share(256), 2);
    // Intel AN 855 §1.1.2 gives 256/276 = 92 % at 256 B; the same arithmetic, 128/148, at 128 B.
    expect(Math.abs(lost(found, 'write') - (1 - 128 / 148 / (256 / 276)))).toBeLessThan(0.015);
  });

  test('it costs nothing where all of the path supports no more', () => {
    const bench = with_({ speed: 1, width: 1 }, 0);
    bench.set([upstream, PCIE, 'Device Capabilities', 'Max_Payload_Size Supported'], 0);
    expect(diagnosed(bench).findings).toEqual([]);
  });
});

/**
 * Reads of 64 KiB at Max_Payload_Size 128 B with a built-in engine, MB/s: Microchip PolarFire FPGA
 * PCI
 * Express user guide, §3.5 (Gen1 x1, Gen2 x1, Gen1 x2; the guide names neither host nor request
 * size).
 */
const published = { '1x1': 206, '2x1': 411, '1x2': 410 } as const;

describe('speed and width', () => {
  test.each([
    ['1x1', { speed: 1, width: 1 }],
    ['2x1', { speed: 2, width: 1 }],
    ['1x2', { speed: 1, width: 2 }],
  ] as const)('reads over %s come within 5 %% of what was published', (name, link) => {
    const { rates } = diagnosed(with_(link, 0));
    const ratio = rates!.asFound.read / (published[name] * 1e6);
    expect(Math.abs(ratio - 1)).toBeLessThan(0.05);
  });

  test('2.5 GT/s in place of 5 GT/s costs reads what was measured between the two', () => {
    const bench = with_({ speed: 2, width: 1 }, 0);
    train(bench, [downstream, endpoint], { speed: 1, width: 1 });
    const measured = 1 - published['1x1'] / published['2x1'];
    expect(Math.abs(lost(findingOf(bench, 'link-speed'), 'read') - measured)).toBeLessThan(0.02);
  });

  test('x1 in place of x2 costs reads what was measured between the two', () => {
    const bench = with_({ speed: 1, width: 2 }, 0);
    train(bench, [downstream, endpoint], { speed: 1, width: 1 });
    const measured = 1 - published['1x1'] / published['1x2'];
    expect(Math.abs(lost(findingOf(bench, 'link-width'), 'read') - measured)).toBeLessThan(0.02);
  });
});

describe('the rest', () => {
  test('an end-to-end CRC costs 4 B in each packet', () => {
    const bench = with_({ speed: 1, width: 1 }, 1);
    const register = 'Advanced Error Capabilities and Control';
    bench.set([endpoint, 'Advanced Error Reporting', register, 'ECRC Generation Enable'], 1);
    const found = findingOf(bench, 'ecrc-on');
    expect(lost(found, 'write')).toBeCloseTo(4 / (256 + 24 + 4 + 1), 2);
    // The root adds none: completions are as they were, and requests are not what binds.
    expect(found.costs.map((c) => c.kind)).toEqual(['write']);
  });

  test('32 tags hold reads to what they carry in a round trip', () => {
    const bench = with_({ speed: 4, width: 16 }, 1);
    bench.set([endpoint, PCIE, 'Device Control', 'Extended Tag Field Enable'], 0);
    bench.set([endpoint, PCIE, 'Device Control', 'Max_Read_Request_Size'], 2);
    const { asFound, without } = cost(findingOf(bench, 'tags-extended'), 'read');
    // Little's law: 32 x 512 B in no less than the 500 ns of the root and twice 150 ns of the
    // switch.
    expect(asFound).toBeLessThan((32 * 512) / 800e-9);
    expect(asFound).toBeGreaterThan((0.6 * 32 * 512) / 800e-9);
    expect(without).toBeGreaterThan(asFound);
  });

  test('requests of 128 B cost reads, and writes nothing', () => {
    const bench = good.copy();
    bench.set([endpoint, PCIE, 'Device Control', 'Max_Read_Request_Size'], 0);
    expect(findingOf(bench, 'request-small').costs.map((c) => c.kind)).toEqual(['read']);
  });

  test('a narrow way up costs what it takes from a faster Link below', () => {
    const bench = good.copy();
    setLink(bench, [root, upstream], { speed: 1, width: 4 });
    const found = findingOf(bench, 'upstream-shared');
    // 8b/10b at x4, 1 GB/s, against 8 GT/s x2, 1.969 GB/s: about half.
    expect(lost(found, 'write')).toBeGreaterThan(0.45);
    expect(lost(found, 'write')).toBeLessThan(0.55);
  });

  test('what lets nothing pass costs all there is', () => {
    const bench = good.copy().set([endpoint, 'header', 'Command', 'Bus Master Enable'], 0);
    const { rates } = diagnosed(good);
    const found = findingOf(bench, 'bus-master-off');
    expect(found.share).toBe(1);
    expect(cost(found, 'write')).toEqual({
      kind: 'write',
      asFound: 0,
      without: rates!.asFound.write,
    });
  });
});
