/** Keys of supplies, mechanics and starting beyond the seat itself. */
import { rails } from '../parts.ts';
import type {
  CarrierSeat,
  Configuration,
  HostStart,
  Inrush,
  ModuleSeat,
  SiteSeat,
} from '../seating.ts';
import { atMost } from './check-order.ts';
import { given } from './leaf.ts';
import { choiceRule, nameRule, quantityRule, wholeRule } from './rules.ts';
import { clockRate, flag, pause } from './scalars.ts';
import { checked, type Fields, list, object, optional, record, required } from './shape.ts';

const length = given(quantityRule('length', 'a length', { above: '0 mm' }));
const height = given(quantityRule('length', 'a height', { least: '0 mm' }));
const signalling = given(choiceRule(['3.3 V', '5 V'], 'a signalling voltage'));

const inrush = record(
  rails,
  'rail',
  object<Inrush>({
    peak: required(
      given(quantityRule('current', 'a current', { least: '0 A' })),
      'Highest current while capacitors charge.',
    ),
    duration: required(pause, 'Longest time for which it flows.'),
  }),
);
const railOrder = list(given(choiceRule(rails, 'a rail')), rails.length);

const configuration = object<Configuration>({
  image: required(
    given(quantityRule('size', 'a size', { above: '0 B' })),
    'What must be loaded before the link can train: the first stage, where there are two.',
  ),
  compression: optional(
    given(quantityRule('count', 'a ratio', { least: '1' })),
    'Size of the image over what is read from the flash; 1 when absent.',
  ),
  flash_width: required(given(wholeRule('a number of bits', 1, 64)), 'Bits read with each clock.'),
  flash_clock: required(clockRate, 'Clock of the flash.'),
  power_on_reset: required(pause, 'From stable supplies to the first bit read.'),
  ready: optional(pause, 'From the last bit to a port that is ready to train.'),
});

export const moduleSeatFields: Fields<ModuleSeat> = {
  side2_height: optional(height, 'Tallest part on the side away from the carrier.'),
  board_thickness: optional(length, 'Thickness of the board.'),
  length: optional(length, 'From front edge to rear edge.'),
  io_zone_height: optional(height, 'Tallest part in the I/O zone at the front.'),
  front_io: optional(flag, 'Whether the use needs connectors at the front panel.'),
  signalling: optional(list(signalling, 2), 'PCI signalling voltages its key holes take.'),
  inrush: optional(inrush, 'Current per rail while its capacitors charge.'),
  rail_order: optional(railOrder, 'Rails in the order in which they must come up.'),
  configuration: optional(configuration, 'How its FPGA is loaded before the link trains.'),
};

export const siteSeatFields: Fields<SiteSeat> = {
  length: optional(length, 'Length of module it takes.'),
  io_zone_height: optional(height, "Tallest carrier part in the module's I/O zone."),
  frame: optional(
    given(quantityRule('thermal resistance', 'a thermal resistance', { least: '0 K/W' })),
    "Module frame to the carrier's frame.",
  ),
  key: optional(signalling, 'PCI signalling voltage that the key pin sets.'),
  inrush: optional(inrush, 'Current per rail it bears while capacitors charge.'),
  rail_order: optional(railOrder, 'Rails in the order in which they come up.'),
  supply_delay: optional(pause, "From stable supplies of the slot to the site's."),
  bus_segment: optional(given(nameRule('a segment')), 'PCI segment; sites of one name share it.'),
  bus_clock: optional(clockRate, 'Clock of the PCI segment.'),
};

export const carrierSeatFields: Fields<CarrierSeat> = {
  board_thickness: optional(length, 'Thickness of the board.'),
  side2_height: optional(height, 'Tallest part on the side without sites.'),
};

export const hostStart = checked(
  object<HostStart>({
    reset_release: optional(pause, 'From stable power to the release of reset.'),
    first_configuration: optional(pause, 'From stable power to the first configuration request.'),
  }),
  ({ reset_release: release, first_configuration: first }, out) => {
    if (release && first) {
      atMost(['reset_release', release], ['first_configuration', first], out);
    }
  },
);
