/** A conventional PCI or PCI-X bus on the way: slower than any Link of today, and shared. */
import type { DiagnosisFinding } from '../../model/diagnosis.ts';
import { formatRate } from '../../quantity/index.ts';
import { headerValue, registerValue, shortAddress, type TreeNode } from '../topology/index.ts';
import { unpriced } from './price.ts';
import { type DiagnosisContext, finding, shown } from './rule.ts';

/**
 * Clock in millions a second and transfers a clock, by the mode of a PCI-X bridge (PCI-X 2.0a
 * §8.6.2.3).
 */
const modes: Readonly<Record<number, readonly [text: string, millions: number]>> = {
  1: ['PCI-X 66', 66.666667],
  2: ['PCI-X 100', 100],
  3: ['PCI-X 133', 133.333333],
  5: ['PCI-X 66', 66.666667],
  6: ['PCI-X 100', 100],
  7: ['PCI-X 133', 133.333333],
  9: ['PCI-X 266 at 66 MHz', 133.333333],
  10: ['PCI-X 266 at 100 MHz', 200],
  11: ['PCI-X 266 at 133 MHz', 266.666667],
  13: ['PCI-X 533 at 66 MHz', 266.666667],
  14: ['PCI-X 533 at 100 MHz', 400],
  15: ['PCI-X 533 at 133 MHz', 533.333333],
};

/** What a bus below a bridge carries at most, both ways together. */
export function busPeak(bridge: TreeNode, below: readonly TreeNode[]) {
  const register = 'PCI-X Secondary Status';
  const mode = registerValue(bridge, 'PCI-X', register, 'Secondary Bus Mode and Frequency') ?? 0;
  const [text, millions] = modes[mode] ?? conventional(bridge, below);
  const wide = registerValue(bridge, 'PCI-X', register, '64-bit Device') === 1;
  const bytes = wide ? 8 : 4;
  return { text, wide, bytesPerSecond: Math.round(millions * 1e6) * bytes };
}

/** 66 MHz only where the bridge and everything on the bus can: one that cannot holds M66EN low. */
function conventional(bridge: TreeNode, below: readonly TreeNode[]): readonly [string, number] {
  const fast =
    headerValue(bridge, 'Secondary Status', '66 MHz Capable') === 1 &&
    below.every((n) => headerValue(n, 'Status', '66 MHz Capable') === 1);
  return fast ? ['PCI, 66 MHz at most', 66.666667] : ['PCI, 33 MHz', 33.333333];
}

/** Parallel buses of the path. */
export function parallelBus({ buses, tree }: DiagnosisContext): DiagnosisFinding[] {
  return buses.map(({ bridge }) => {
    const on = tree.on(bridge.at.domain, bridge.buses?.secondary ?? 0);
    const { text, wide, bytesPerSecond } = busPeak(bridge, on);
    const width = wide ? '64 bits' : '32 bits taken (a dump shows no more)';
    const price = unpriced(
      'these models take Links alone; a case of the bus needs its waits and bursts, ' +
        'which no dump shows',
    );
    return {
      ...finding({
        id: 'parallel-bus',
        level: 'caution',
        subject: `bus below ${shortAddress(bridge)}`,
        message:
          `${text}, ${width}: never above ${formatRate(bytesPerSecond)}, both ways ` +
          `and all ${on.length} functions on it together`,
        functions: [bridge],
        values: [shown('bus', text), shown('functions on it', `${on.length}`)],
        clause: 'PCI Local Bus Specification 3.0 §3; PCI-X 2.0a §8.6.2.3',
        next:
          'trace a transfer on the bus to see its bursts and waits, or move the ' +
          'function to a port of its own',
        price,
      }),
    };
  });
}
