/** What lets nothing pass at all: Bus Master Enable, Memory Space Enable, and power states. */
import type { DiagnosisFinding } from '../../model/diagnosis.ts';
import { headerValue, isBridge, registerValue, shortAddress } from '../topology/index.ts';
import { unpriced } from './price.ts';
import { clause, type DiagnosisContext, finding, shown } from './rule.ts';

/** Functions of the path that may not send requests up. */
export function busMaster({ path, pricer }: DiagnosisContext): DiagnosisFinding[] {
  return path.nodes.flatMap((node) => {
    if (headerValue(node, 'Command', 'Bus Master Enable') !== 0) return [];
    const why = isBridge(node)
      ? 'off: the bridge passes no memory request from below'
      : 'off: the function may not read or write memory itself';
    return [
      finding({
        id: 'bus-master-off',
        level: 'stop',
        subject: `Bus Master Enable of ${shortAddress(node)}`,
        message: why,
        functions: [node],
        values: [shown('Command, Bus Master Enable', 'disabled')],
        clause: clause('7.5.1.1.3'),
        next: 'see that the driver is loaded and has set it; dump while it transfers',
        price: pricer.everything(),
      }),
    ];
  });
}

/** Functions of the path that answer no memory request. */
export function memorySpace({ path, node }: DiagnosisContext): DiagnosisFinding[] {
  return path.nodes.flatMap((one) => {
    if (headerValue(one, 'Command', 'Memory Space Enable') !== 0) return [];
    // A function without memory of its own needs none.
    const own = one.fn.baseAddresses.some((b) => b.space === 'memory' && b.name.startsWith('BAR'));
    const window = one.fn.windows?.some((w) => w.name !== 'I/O' && w.range !== undefined);
    if (one === node ? !own : !window) return [];
    return [
      finding({
        id: 'memory-space-off',
        level: 'stop',
        subject: `Memory Space Enable of ${shortAddress(one)}`,
        message: isBridge(one)
          ? 'off: the processor reaches nothing behind the bridge'
          : 'off: the processor cannot reach its registers',
        functions: [one],
        values: [shown('Command, Memory Space Enable', 'disabled')],
        clause: clause('7.5.1.1.3'),
        next: 'see that the driver is loaded and has set it; dump while it transfers',
        price: unpriced('it stops what the processor asks, not what the function sends'),
      }),
    ];
  });
}

const states = ['D0', 'D1', 'D2', 'D3hot'];

/** Functions of the path that are not in D0. */
export function powerState({ path, pricer }: DiagnosisContext): DiagnosisFinding[] {
  return path.nodes.flatMap((node) => {
    const register = 'Power Management Control/Status';
    const state = registerValue(node, 'PCI Power Management', register, 'PowerState') ?? 0;
    if (state === 0) return [];
    return [
      finding({
        id: 'power-state',
        level: 'stop',
        subject: `power state of ${shortAddress(node)}`,
        message: `in ${states[state]}: it sends and takes no memory request`,
        functions: [node],
        values: [shown('PowerState', states[state]!)],
        clause: clause('5.3.1', '7.5.2.2'),
        next:
          'wake it (the system puts unused functions to sleep) and dump again while ' +
          'it transfers',
        price: pricer.everything(),
      }),
    ];
  });
}
