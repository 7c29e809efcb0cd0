/** The tree of buses, from captured dumps and from bus numbers put wrong. */
import fc from 'fast-check';
import { beforeAll, describe, expect, test } from 'vitest';
import { below, busTree, linksOf, pathTo, shortAddress } from '../../src/insight/topology/index.ts';
import '../seed.ts';
import { Bench, path } from './diagnose-rig.ts';

let express: Bench;
let conventional: Bench;
beforeAll(async () => {
  express = await Bench.of('express');
  conventional = await Bench.of('conventional');
});

const tree = (bench: Bench) => busTree(bench.document().functions);
const bus = (address: string, which: string) =>
  [address, 'header', `${which} Bus Number`, `${which} Bus Number`] as const;

function way(bench: Bench, address: string): string[] {
  const all = tree(bench);
  const { steps } = pathTo(all, all.find(address)!);
  return steps.map((s) => (s.kind === 'gap' ? '...' : `${shortAddress(s.node)} ${s.node.kind}`));
}

describe('the way from the root', () => {
  test('through a switch, as the machine was built', () => {
    expect(way(express, path.endpoint)).toEqual([
      '00:02.0 root port',
      '01:00.0 upstream port',
      '02:01.0 downstream port',
      '04:00.0 endpoint',
    ]);
    const all = tree(express);
    const links = linksOf(pathTo(all, all.find(path.endpoint)!));
    expect(links.map((l) => l.name)).toEqual([
      'Link 00:02.0 to 01:00.0',
      'Link 02:01.0 to 04:00.0',
    ]);
    expect(all.findings).toEqual([]);
  });

  test('through two bridges of parallel buses', () => {
    expect(way(conventional, '0000:02:03.0').slice(-3)).toEqual([
      '00:02.0 bridge to PCI',
      '01:01.0 PCI bridge',
      '02:03.0 conventional function',
    ]);
  });

  test('below a port are all functions on all buses behind it', () => {
    const all = tree(express);
    const found = below(all, all.find(path.root)!).map((n) => shortAddress(n));
    expect(found.sort()).toEqual(['01:00.0', '02:00.0', '02:01.0', '03:00.0', '04:00.0']);
  });

  test('what is above the topmost function of a dump is named', () => {
    const bench = express.copy().without(path.root, path.upstream, path.downstream);
    const all = tree(bench);
    const { missing, fromRoot } = pathTo(all, all.find(path.endpoint)!);
    expect(missing).toEqual(['upstream of 04:00.0 not in the dump']);
    expect(fromRoot).toBe(false);
  });

  test('a bridge left out in between is named, and the way goes on above it', () => {
    const bench = express.copy().without(path.downstream);
    expect(way(bench, path.endpoint)).toEqual([
      '00:02.0 root port',
      '01:00.0 upstream port',
      '...',
      '04:00.0 endpoint',
    ]);
    const all = tree(bench);
    const found = pathTo(all, all.find(path.endpoint)!);
    expect(found.missing[0]).toContain('bus 04 lies below 01:00.0');
    // The Link above the function is still there, with one end.
    expect(linksOf(found).map((l) => l.name)).toEqual([
      'Link 00:02.0 to 01:00.0',
      'Link a port not in the dump to 04:00.0',
    ]);
  });

  test('the same addresses in two domains are two trees', () => {
    const document = express.document();
    const moved = document.functions.map((fn) => ({
      ...fn,
      address: fn.address!.replace(/^0000/, '0001'),
    }));
    const both = busTree([...document.functions, ...moved]);
    const { nodes } = pathTo(both, both.find('0001:04:00.0')!);
    expect(nodes.map((n) => n.at.domain)).toEqual([1, 1, 1, 1]);
    expect(both.findings).toEqual([]);
    expect(shortAddress(nodes[0]!)).toBe('0001:00:02.0');
  });
});

describe('bus numbers put wrong', () => {
  test('bridges after reset have none, and say so', async () => {
    const { findings } = tree(await Bench.of('reset'));
    expect(findings.map((f) => [f.id, f.subject])).toEqual([
      ['topology-bus-unassigned', 'bus numbers of 00:02.0'],
      ['topology-bus-unassigned', 'bus numbers of 00:03.0'],
    ]);
  });

  test.each([
    [
      'a range that crosses another',
      (b: Bench) => b.set(bus(path.root, 'Subordinate'), 5),
      'topology-bus-overlap',
    ],
    [
      'a child that reaches out of its parent',
      (b: Bench) => b.set(bus(path.downstream, 'Subordinate'), 5),
      'topology-bus-overlap',
    ],
    [
      'two bridges to one bus',
      (b: Bench) => b.set(bus('0000:00:03.0', 'Secondary'), 1),
      'topology-bus-overlap',
    ],
    [
      'a subordinate below the secondary',
      (b: Bench) => b.set(bus(path.downstream, 'Subordinate'), 3),
      'topology-bus-range',
    ],
    [
      'a secondary above the bridge itself',
      (b: Bench) => b.set(bus(path.downstream, 'Secondary'), 1),
      'topology-bus-range',
    ],
    [
      'a primary of another bus',
      (b: Bench) => b.set(bus(path.downstream, 'Primary'), 7),
      'topology-primary-bus',
    ],
  ] as const)('%s', (_, change, id) => {
    const bench = express.copy();
    change(bench);
    expect(tree(bench).findings.map((f) => f.id)).toContain(id);
  });

  test('a way that leads round in a circle ends, and says so', () => {
    const bench = express.copy();
    // The switch port below claims the bus its own upstream port is on.
    bench.set(bus(path.root, 'Secondary'), 9).set(bus(path.downstream, 'Secondary'), 1);
    const all = tree(bench);
    const found = pathTo(all, all.find(path.downstream)!);
    expect(found.missing[0]).toContain('back to');
  });

  test('any bus numbers at all leave every way finite', () => {
    const bridges = [path.root, path.upstream, path.downstream, '0000:02:00.0', '0000:00:03.0'];
    const number = fc.integer({ min: 0, max: 8 });
    fc.assert(
      fc.property(
        fc.array(fc.tuple(number, number, number), { minLength: 5, maxLength: 5 }),
        (all) => {
          const bench = express.copy();
          all.forEach(([primary, secondary, subordinate], i) => {
            bench.set(bus(bridges[i]!, 'Primary'), primary);
            bench.set(bus(bridges[i]!, 'Secondary'), secondary);
            bench.set(bus(bridges[i]!, 'Subordinate'), subordinate);
          });
          const made = tree(bench);
          for (const node of made.nodes) {
            const { nodes } = pathTo(made, node);
            expect(new Set(nodes).size).toBe(nodes.length);
            expect(below(made, node).length).toBeLessThan(made.nodes.length);
          }
        },
      ),
      { numRuns: 60 },
    );
  });
});
