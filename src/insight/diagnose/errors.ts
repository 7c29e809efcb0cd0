/** Error bits that stay set until software clears them. */
import type { DiagnosisFinding } from '../../model/diagnosis.ts';
import type { DecodedRegister } from '../../model/dump.ts';
import { registerOf, structureOf } from '../registers/index.ts';
import { expressValue, has, headerValue, shortAddress, type TreeNode } from '../topology/index.ts';
import { unpriced } from './price.ts';
import { clause, type DiagnosisContext, finding, shown } from './rule.ts';

const AER = 'Advanced Error Reporting';
const AGAIN =
  'clear the bits, run the transfer for a minute, and read again: only what comes back counts';

/** Errors that make a Link send again (§3.6.2, §4.2). */
const replays = [
  'Receiver Error',
  'Bad TLP',
  'Bad DLLP',
  'REPLAY_NUM Rollover',
  'Replay Timer Timeout',
];
const otherCorrectable = ['Corrected Internal Error', 'Header Log Overflow'];

function statusOf(node: TreeNode, name: string): DecodedRegister | undefined {
  return registerOf(structureOf(node.fn, AER), name);
}

/** Names of the status bits that are set, without the word Status. */
function bitsSet(node: TreeNode, register: string): string[] {
  const fields = statusOf(node, register)?.fields ?? [];
  return fields
    .filter((f) => f.value !== 0 && f.name.endsWith(' Status'))
    .map((f) => f.name.slice(0, -' Status'.length));
}

/** Correctable errors of the path. */
export function correctable({ path }: DiagnosisContext): DiagnosisFinding[] {
  return path.nodes.flatMap((node) => {
    const set = bitsSet(node, 'Correctable Error Status');
    const again = set.filter((name) => replays.includes(name));
    const other = set.filter((name) => otherCorrectable.includes(name));
    const found: DiagnosisFinding[] = [];
    if (again.length > 0) {
      found.push(
        finding({
          id: 'errors-replay',
          level: 'caution',
          subject: `correctable errors of ${shortAddress(node)}`,
          message: `${again.join(', ')}: packets of its Link were sent again at least once`,
          functions: [node],
          values: again.map((name) => shown(name, 'set')),
          clause: clause('3.6.2', '6.2.7', '7.8.4.5'),
          next:
            `${AGAIN}; if they do, look at the channel of this Link (seating, loss, ` +
            'clock), or lower its speed by a step and compare',
          price: unpriced(
            'how often it happens is not in a dump; a case takes it as bit_error_ratio',
          ),
        }),
      );
    }
    if (other.length > 0) {
      found.push(
        finding({
          id: 'errors-corrected',
          level: 'caution',
          subject: `correctable errors of ${shortAddress(node)}`,
          message: `${other.join(', ')}: corrected within the function`,
          functions: [node],
          values: other.map((name) => shown(name, 'set')),
          clause: clause('6.2.7', '7.8.4.5'),
          next: AGAIN,
          price: unpriced('what a function corrects by itself takes no Link time'),
        }),
      );
    }
    return found;
  });
}

/** Uncorrectable errors of the path; a completion timeout has its own finding. */
export function uncorrectable({ path }: DiagnosisContext): DiagnosisFinding[] {
  return path.nodes.flatMap((node) => {
    const set = bitsSet(node, 'Uncorrectable Error Status');
    const late = set.includes('Completion Timeout');
    const rest = set.filter((name) => name !== 'Completion Timeout');
    const found: DiagnosisFinding[] = [];
    if (late) {
      found.push(
        finding({
          id: 'completion-timeout',
          level: 'caution',
          subject: `reads of ${shortAddress(node)}`,
          message:
            'Completion Timeout: a read was given up, after the time that Device Control 2 sets',
          functions: [node],
          values: [shown('Completion Timeout Status', 'set'), ...timeoutOf(node)],
          clause: clause('2.8', '7.8.4.2'),
          next: `${AGAIN}; the Header Log, if it holds one, names the address that did not answer`,
          price: unpriced('each costs the whole timeout; how often is not in a dump'),
        }),
      );
    }
    if (rest.length > 0) {
      found.push(
        finding({
          id: 'errors-uncorrectable',
          level: 'caution',
          subject: `uncorrectable errors of ${shortAddress(node)}`,
          message: `${rest.join(', ')}: a transaction was lost at least once`,
          functions: [node],
          values: rest.map((name) => shown(name, 'set')),
          clause: clause('6.2.7', '7.8.4.2'),
          next: `${AGAIN}; the Header Log names the packet of the first`,
          price: unpriced('lost data, not lost rate'),
        }),
      );
    }
    return found;
  });
}

function timeoutOf(node: TreeNode) {
  const register = registerOf(structureOf(node.fn, 'PCI Express'), 'Device Control 2');
  const value = register?.fields.find((f) => f.name === 'Completion Timeout Value');
  return value === undefined ? [] : [shown('Completion Timeout Value', value.meaning)];
}

/** Completion timeouts that are off, or too short for a busy host. */
export function timeoutSetting({ node }: DiagnosisContext): DiagnosisFinding[] {
  const off = expressValue(node, 'Device Control 2', 'Completion Timeout Disable') === 1;
  const short = expressValue(node, 'Device Control 2', 'Completion Timeout Value') === 1;
  if (!off && !short) return [];
  return [
    finding({
      id: 'timeout-setting',
      level: 'caution',
      subject: 'completion timeout of the function',
      message: off
        ? 'Completion Timeout Disable is set: a completion that is lost holds its tag for good'
        : 'at 50 µs to 100 µs, which a read under load may take',
      functions: [node],
      values: timeoutOf(node),
      clause: clause('2.8', '7.5.3.16'),
      next: off
        ? 'clear it, unless a debugger needs it'
        : 'set the default, 50 µs to 50 ms, or more',
      price: unpriced('it acts only once a completion is late or lost'),
    }),
  ];
}

/** What Device Status sums up, where no AER says it in detail. */
const summed: Readonly<Record<string, string>> = {
  'Correctable Error Detected': 'Correctable Error Status',
  'Non-Fatal Error Detected': 'Uncorrectable Error Status',
  'Fatal Error Detected': 'Uncorrectable Error Status',
};

const PROBING = ': probing for functions at start sets it too';

/** Device Status bits that nothing more detailed explains. */
export function deviceStatus({ path }: DiagnosisContext): DiagnosisFinding[] {
  return path.nodes.flatMap((node) => {
    const set = Object.keys(summed).filter((name) => {
      if (expressValue(node, 'Device Status', name) !== 1) return false;
      // An advisory error is a non-fatal one that was told as correctable.
      return !has(node, AER) || bitsSet(node, summed[name]!).length === 0;
    });
    const asked = expressValue(node, 'Device Status', 'Unsupported Request Detected') === 1;
    const known = bitsSet(node, 'Uncorrectable Error Status').includes('Unsupported Request Error');
    if (asked && !known) set.push('Unsupported Request Detected');
    if (set.length === 0) return [];
    const probing = set.length === 1 && asked;
    return [
      finding({
        id: 'errors-device',
        level: probing ? 'ok' : 'caution',
        subject: `Device Status of ${shortAddress(node)}`,
        message: `${set.join(', ')}${probing ? PROBING : ''}`,
        functions: [node],
        values: set.map((name) => shown(name, 'set')),
        clause: clause('6.2.6', '7.5.3.5'),
        next: AGAIN,
        price: unpriced('how often it happens is not in a dump'),
      }),
    ];
  });
}

const headerBits = [
  'Master Data Parity Error',
  'Signaled Target Abort',
  'Received Target Abort',
  'Received Master Abort',
  'Signaled System Error',
  'Detected Parity Error',
];

/** Error bits of the Status register in the header. */
export function headerStatus({ path }: DiagnosisContext): DiagnosisFinding[] {
  return path.nodes.flatMap((node) => {
    const set = headerBits.filter((name) => headerValue(node, 'Status', name) === 1);
    if (set.length === 0) return [];
    return [
      finding({
        id: 'errors-header',
        level: 'caution',
        subject: `Status of ${shortAddress(node)}`,
        message: set.join(', '),
        functions: [node],
        values: set.map((name) => shown(name, 'set')),
        clause: clause('7.5.1.1.4'),
        next: AGAIN,
        price: unpriced('how often it happens is not in a dump'),
      }),
    ];
  });
}
