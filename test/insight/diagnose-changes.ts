/** One change of a healthy path for each rule of the diagnosis, and what it must bring. */
import { type Bench, path, setLink, train } from './diagnose-rig.ts';

const { root, upstream, downstream, endpoint } = path;
const PCIE = 'PCI Express';
const AER = 'Advanced Error Reporting';

const control = (address: string, field: string, value: number) => (b: Bench) =>
  b.set([address, PCIE, 'Device Control', field], value);

/** The change, and the one finding it must bring, with its level. */
export const changes: readonly (readonly [
  string,
  (b: Bench) => unknown,
  id: string,
  level: string,
])[] = [
  [
    'the upper Link at 8 GT/s',
    (b) => {
      train(b, [root, upstream], { speed: 3, width: 4 });
      for (const end of [root, upstream])
        b.trySet([end, PCIE, 'Link Control 2', 'Target Link Speed'], 4);
    },
    'link-speed',
    'ok',
  ],
  [
    'the lower Link at 2.5 GT/s',
    (b) => train(b, [downstream, endpoint], { speed: 1, width: 2 }),
    'link-speed',
    'caution',
  ],
  [
    'the lower Link x1',
    (b) => train(b, [downstream, endpoint], { speed: 3, width: 1 }),
    'link-width',
    'caution',
  ],
  [
    'Target Link Speed of 2.5 GT/s',
    (b) => {
      train(b, [downstream, endpoint], { speed: 1, width: 2 });
      b.set([downstream, PCIE, 'Link Control 2', 'Target Link Speed'], 1);
    },
    'link-target-speed',
    'caution',
  ],
  [
    'a Link slowed by hardware',
    (b) => {
      train(b, [downstream, endpoint], { speed: 1, width: 2 });
      b.set([downstream, PCIE, 'Link Status', 'Link Autonomous Bandwidth Status'], 1);
    },
    'link-idle',
    'unknown',
  ],
  [
    'two ends that disagree',
    (b) => {
      // More lanes than the other end has: the lesser, which is taken, is the best of both.
      b.set([downstream, PCIE, 'Link Status', 'Negotiated Link Width'], 4);
    },
    'link-ends-differ',
    'unknown',
  ],
  [
    '128 B everywhere',
    (b) => {
      for (const address of Object.values(path)) control(address, 'Max_Payload_Size', 0)(b);
    },
    'payload-small',
    'caution',
  ],
  [
    'a function that sends more than the switch takes',
    control(upstream, 'Max_Payload_Size', 0),
    'payload-differs',
    'stop',
  ],
  [
    'a function that takes less than the root sends',
    control(endpoint, 'Max_Payload_Size', 0),
    'payload-differs',
    'stop',
  ],
  ['requests of 128 B', control(endpoint, 'Max_Read_Request_Size', 0), 'request-small', 'caution'],
  ['8-bit tags off', control(endpoint, 'Extended Tag Field Enable', 0), 'tags-extended', 'ok'],
  [
    '10-bit tags off',
    (b) => {
      b.set([endpoint, PCIE, 'Device Capabilities 2', '10-Bit Tag Requester Supported'], 1);
      b.set([root, PCIE, 'Device Capabilities 2', '10-Bit Tag Completer Supported'], 1);
    },
    'tags-ten-bit',
    'ok',
  ],
  [
    'relaxed ordering off',
    control(endpoint, 'Enable Relaxed Ordering', 0),
    'relaxed-ordering-off',
    'caution',
  ],
  ['no snoop off', control(endpoint, 'Enable No Snoop', 0), 'no-snoop-off', 'caution'],
  [
    'a boundary other than the root states',
    (b) => b.set([root, PCIE, 'Link Control', 'Read Completion Boundary'], 1),
    'completion-boundary',
    'caution',
  ],
  [
    'end-to-end CRC from the function',
    (b) =>
      b.set(
        [endpoint, AER, 'Advanced Error Capabilities and Control', 'ECRC Generation Enable'],
        1,
      ),
    'ecrc-on',
    'caution',
  ],
  [
    'power saving on the lower Link',
    (b) => b.set([endpoint, PCIE, 'Link Control', 'Active State Power Management Control'], 3),
    'aspm-on',
    'caution',
  ],
  [
    'Extended Synch',
    (b) => b.set([downstream, PCIE, 'Link Control', 'Extended Synch'], 1),
    'extended-synch',
    'caution',
  ],
  [
    'a way up of 2.5 GT/s x4',
    (b) => setLink(b, [root, upstream], { speed: 1, width: 4 }),
    'upstream-shared',
    'caution',
  ],
  [
    'bus mastering off',
    (b) => b.set([endpoint, 'header', 'Command', 'Bus Master Enable'], 0),
    'bus-master-off',
    'stop',
  ],
  [
    'bus mastering off in the switch',
    (b) => b.set([upstream, 'header', 'Command', 'Bus Master Enable'], 0),
    'bus-master-off',
    'stop',
  ],
  [
    'memory space off',
    (b) => b.set([endpoint, 'header', 'Command', 'Memory Space Enable'], 0),
    'memory-space-off',
    'stop',
  ],
  [
    'D3hot',
    (b) =>
      b.set([endpoint, 'PCI Power Management', 'Power Management Control/Status', 'PowerState'], 3),
    'power-state',
    'stop',
  ],
  ...['Receiver Error', 'Bad TLP', 'Bad DLLP', 'REPLAY_NUM Rollover', 'Replay Timer Timeout'].map(
    (name) =>
      [
        name,
        (b: Bench) => b.set([root, AER, 'Correctable Error Status', `${name} Status`], 1),
        'errors-replay',
        'caution',
      ] as const,
  ),
  [
    'a corrected internal error',
    (b) => b.set([root, AER, 'Correctable Error Status', 'Corrected Internal Error Status'], 1),
    'errors-corrected',
    'caution',
  ],
  [
    'a completion timeout',
    (b) => b.set([endpoint, AER, 'Uncorrectable Error Status', 'Completion Timeout Status'], 1),
    'completion-timeout',
    'caution',
  ],
  [
    'a malformed packet',
    (b) => b.set([endpoint, AER, 'Uncorrectable Error Status', 'Malformed TLP Status'], 1),
    'errors-uncorrectable',
    'caution',
  ],
  [
    'a fatal error without detail',
    (b) => b.set([endpoint, PCIE, 'Device Status', 'Fatal Error Detected'], 1),
    'errors-device',
    'caution',
  ],
  [
    'an unsupported request',
    (b) => b.set([endpoint, PCIE, 'Device Status', 'Unsupported Request Detected'], 1),
    'errors-device',
    'ok',
  ],
  [
    'a target abort',
    (b) => b.set([endpoint, 'header', 'Status', 'Received Target Abort'], 1),
    'errors-header',
    'caution',
  ],
  [
    'no completion timeout',
    (b) => b.set([endpoint, PCIE, 'Device Control 2', 'Completion Timeout Disable'], 1),
    'timeout-setting',
    'caution',
  ],
  [
    'the shortest completion timeout',
    (b) => b.set([endpoint, PCIE, 'Device Control 2', 'Completion Timeout Value'], 1),
    'timeout-setting',
    'caution',
  ],
  [
    'all vectors masked',
    (b) => b.set([endpoint, 'MSI-X', 'Message Control', 'Function Mask'], 1),
    'interrupts-masked',
    'stop',
  ],
  [
    'no vectors, wires on',
    (b) => {
      b.set([endpoint, 'MSI-X', 'Message Control', 'MSI-X Enable'], 0);
      b.set([endpoint, 'header', 'Command', 'Interrupt Disable'], 0);
    },
    'interrupts-intx',
    'caution',
  ],
  [
    'no vectors, wires off',
    (b) => {
      b.set([endpoint, 'MSI-X', 'Message Control', 'MSI-X Enable'], 0);
      b.set([endpoint, 'header', 'Command', 'Interrupt Disable'], 1);
    },
    'interrupts-none',
    'unknown',
  ],
];
