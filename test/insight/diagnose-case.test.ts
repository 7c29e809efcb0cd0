/** A path of a dump as a case that can be rated, and two dumps compared. */
import { beforeAll, describe, expect, test } from 'vitest';
import {
  answerCase,
  caseOfDump,
  compareDumps,
  diagnoseDump,
  libraryOf,
} from '../../src/engine/index.ts';
import { busTree } from '../../src/insight/topology/index.ts';
import type { DumpComparison } from '../../src/model/diagnosis.ts';
import { dumpComparisonText } from '../../src/report/index.ts';
import { Bench, captured, healthy, path, train } from './diagnose-rig.ts';

const { root, upstream, downstream, endpoint } = path;
const PCIE = 'PCI Express';
const wish = { file: 'case.yaml', folder: './case-parts' };

let good: Bench;
beforeAll(async () => {
  good = await healthy();
});

describe('a case from a dump', () => {
  test.each(captured)('%s: every endpoint rates at once, as the diagnosis has it', async (name) => {
    const dump = (await Bench.of(name)).document();
    const nodes = busTree(dump.functions).nodes.filter((n) => n.kind === 'endpoint');
    expect(nodes.length).toBeGreaterThan(0);
    for (const { address } of nodes) {
      const made = caseOfDump(dump, address, wish);
      if (!made.ok) throw new Error(JSON.stringify(made.problems));
      const { library, problems } = libraryOf(made.value.parts);
      expect(problems).toEqual([]);
      const answer = answerCase(made.value.case, library, { fit: true, rate: true });
      if (!answer.ok) throw new Error(JSON.stringify(answer.problems));
      const asked = diagnoseDump(dump, address);
      if (!asked.ok) throw new Error('no diagnosis');
      const { rates } = asked.value.functions[0]!;
      const { sustained } = answer.value.rate!.streams[0]!;
      expect(Math.round(sustained.expected)).toBe(rates!.asFound.write);
      expect(sustained.low).toBeLessThanOrEqual(sustained.expected);
      // What comes from the dump says so, with the hash of the dump.
      expect(made.value.case.text).toContain(`sha256 ${dump.inputs[0]!.sha256}`);
    }
  });

  test('has each Link as trained, and what both ends could do beside it', () => {
    const bench = good.copy();
    train(bench, [downstream, endpoint], { speed: 1, width: 1 });
    const made = caseOfDump(bench.document(), endpoint, wish);
    if (!made.ok) throw new Error('no case');
    const [module, between, host] = made.value.parts.map((p) => p.text);
    expect(module).toContain(
      '  generation: 1  # as trained; both ends can do 8 GT/s x2\n  width: x1',
    );
    expect(between).toContain('upstream: {generation: 4, width: x4}');
    expect(host).toContain('generation: 4');
  });

  test(
    'is refused, with the reason, for a bridge, a Link that is down and a parallel ' + 'bus',
    async () => {
      const refused = (bench: Bench, address: string) => {
        const made = caseOfDump(bench.document(), address, wish);
        return made.ok ? '' : made.problems[0]!.got;
      };
      expect(refused(good, upstream)).toContain('upstream port');
      const down = good.copy();
      train(down, [downstream, endpoint], { speed: 0, width: 0 });
      expect(refused(down, endpoint)).toContain('is not trained');
      expect(refused(await Bench.of('conventional'), '0000:01:02.0')).toContain('parallel bus');
    },
  );
});

function compared(a: Bench, b: Bench, at: string = endpoint, other: string = at): DumpComparison {
  const asked = compareDumps(
    { dump: a.document(), function: at },
    { dump: b.document(), function: other },
  );
  if (!asked.ok) throw new Error(JSON.stringify(asked.problems));
  return asked.value;
}

describe('two dumps', () => {
  test('that are the same differ in nothing', () => {
    const { differences, notCompared } = compared(good, good.copy());
    expect([differences, notCompared]).toEqual([[], []]);
  });

  test('identities, addresses and passing status bits are not compared', () => {
    const bench = good.copy();
    const bytes = bench.bytes(endpoint);
    for (const at of [0x00, 0x02, 0x08, 0x10, 0x2c, 0x2e, 0x3c]) bytes[at]! ^= 0x10;
    bench.set([endpoint, PCIE, 'Device Status', 'Unsupported Request Detected'], 1);
    bench.set([root, PCIE, 'Link Status', 'Link Bandwidth Management Status'], 1);
    expect(compared(good, bench).differences).toEqual([]);
  });

  test('settings come in order of cost, each with the rate it makes', () => {
    const bench = good.copy();
    train(bench, [downstream, endpoint], { speed: 1, width: 2 });
    bench.set([endpoint, PCIE, 'Device Control', 'Max_Read_Request_Size'], 1);
    bench.set([endpoint, PCIE, 'Device Control', 'Enable No Snoop'], 0);
    const { differences, first, second } = compared(good, bench);
    expect(differences.map((d) => d.setting)).toEqual([
      'Link as trained',
      'Max_Read_Request_Size',
      'Enable No Snoop',
    ]);
    const [link] = differences;
    expect([link!.first.text, link!.second.text]).toEqual(['8 GT/s x2', '2.5 GT/s x2']);
    for (const { asFound, without } of link!.costs) expect(without).toBeLessThan(asFound);
    expect(second.rates!.write).toBeLessThan(first.rates!.write);
    expect(differences[2]!.notPriced).toBeDefined();
  });

  test('the other way round the same settings differ, and now bring rate', () => {
    const bench = good.copy();
    train(bench, [downstream, endpoint], { speed: 1, width: 2 });
    const there = compared(good, bench).differences[0]!;
    const back = compared(bench, good).differences[0]!;
    expect(back.setting).toBe(there.setting);
    expect(back.share).toBeCloseTo(there.share, 9);
    for (const { asFound, without } of back.costs) expect(without).toBeGreaterThan(asFound);
  });

  test('functions are matched by place, so that new bus numbers do not differ', () => {
    const bench = good.copy();
    const document = bench.document();
    // The same machine with its switch numbered four higher.
    const moved = {
      ...document,
      functions: document.functions.map((fn) => renumbered(fn)),
    };
    const asked = compareDumps(
      { dump: good.document(), function: endpoint },
      { dump: moved, function: '0000:08:00.0' },
    );
    if (!asked.ok) throw new Error(JSON.stringify(asked.problems));
    expect(asked.value.differences).toEqual([]);
    expect(asked.value.notCompared).toEqual([]);
  });

  test('what one dump leaves out is told, and the text fits 80 columns', () => {
    const bench = good.copy().without(root);
    const document = compared(good, bench);
    expect(document.notCompared.join()).toContain('second dump: upstream of 01:00.0');
    const text = dumpComparisonText(document);
    expect(Math.max(...text.split('\n').map((l) => l.length))).toBeLessThanOrEqual(80);
  });

  test('without a function a dump with several endpoints is asked which', () => {
    const document = good.document();
    expect(compareDumps({ dump: document }, { dump: document }).ok).toBe(false);
  });
});

type Fn = ReturnType<Bench['document']>['functions'][number];

/** Buses 1 to 8 four higher, in addresses and in the bus number registers. */
function renumbered(fn: Fn): Fn {
  const up = (bus: number) => (bus === 0 ? 0 : bus + 4);
  const hex = (bus: number) => bus.toString(16).padStart(2, '0');
  const address = fn.address!.replace(
    /:(..):/,
    (_, bus) => `:${hex(up(Number.parseInt(bus, 16)))}:`,
  );
  const structures = fn.structures.map((s) => ({
    ...s,
    registers: s.registers.map((r) =>
      r.name.endsWith('Bus Number')
        ? { ...r, fields: r.fields.map((f) => ({ ...f, value: up(f.value) })) }
        : r,
    ),
  }));
  return { ...fn, address, structures };
}
