/** Names what each clock of a stretch of a bus is, from its lines alone: for people, not for ledgers. */
import type { BusLines, ClockKind, LabelledClock } from '../../model/bus-lines.ts';
import { type BusMode, busCommands } from '../../standards/pci-bus.ts';

const names: Readonly<Record<BusMode, Readonly<Record<number, string>>>> = {
  pci: {
    [busCommands.memoryRead]: 'Memory Read',
    [busCommands.memoryWrite]: 'Memory Write',
    [busCommands.memoryReadMultiple]: 'Memory Read Multiple',
    [busCommands.memoryReadLine]: 'Memory Read Line',
    [busCommands.memoryWriteInvalidate]: 'Memory Write and Invalidate',
    [busCommands.dualAddress]: 'Dual Address Cycle',
  },
  pcix: {
    [busCommands.memoryRead]: 'Memory Read Dword',
    [busCommands.memoryWrite]: 'Memory Write',
    [busCommands.splitCompletion]: 'Split Completion',
    [busCommands.dualAddress]: 'Dual Address Cycle',
    [busCommands.memoryReadBlock]: 'Memory Read Block',
    [busCommands.memoryWriteBlock]: 'Memory Write Block',
  },
};

/** Commands whose data the target drives: an even lowest bit, but for completions. */
function reads(mode: BusMode, command: number): boolean {
  return (command & 1) === 0 && !(mode === 'pcix' && command === busCommands.splitCompletion);
}

/**
 * Labels clocks in order. The first may lie within a transaction: clocks are `wait` until FRAME# comes
 * anew.
 */
export function labelClocks(mode: BusMode, clocks: readonly BusLines[]): LabelledClock[] {
  let inside = 0;
  let addressed = false;
  let dual = false;
  let read = false;
  let answered = false;
  let behind = false;
  return clocks.map((lines): LabelledClock => {
    const active = lines.frame || lines.irdy;
    if (!active) {
      const kind: ClockKind = behind ? 'turnaround' : lines.req !== 0 ? 'arbitration' : 'idle';
      behind = false;
      inside = 0;
      return { lines, kind };
    }
    behind = true;
    inside++;
    if (inside === 1) {
      const command = lines.cbe & 0xf;
      addressed = true;
      answered = false;
      dual = command === busCommands.dualAddress;
      read = reads(mode, command);
      return { lines, kind: 'address', command: names[mode][command] ?? `command ${command}` };
    }
    if (inside === 2 && dual) {
      read = reads(mode, lines.cbe & 0xf);
      return { lines, kind: 'dual address' };
    }
    const since = inside - (dual ? 2 : 1);
    if (mode === 'pcix' && since === 1) return { lines, kind: 'attribute' };
    const moves = lines.irdy && lines.trdy;
    // PCI-X: TRDY# alone once DEVSEL# has gone says that the data come later.
    if (mode === 'pcix' && moves && !lines.devsel && !lines.stop) {
      return { lines, kind: 'split response' };
    }
    if (moves) return { lines, kind: 'data' };
    if (lines.stop && !lines.trdy) return { lines, kind: 'stop' };
    if (mode === 'pci' && read && since === 1 && addressed) return { lines, kind: 'turnaround' };
    const first = lines.devsel && !answered;
    answered ||= lines.devsel;
    const early = !lines.devsel || (first && mode === 'pcix');
    return { lines, kind: early && !(answered && !first) ? 'response' : 'wait' };
  });
}
