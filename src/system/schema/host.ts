/** What a host does besides its PCI Express port. */
import type { ProcessorAccess, Translation } from '../parts.ts';
import { atMost } from './check-order.ts';
import { pause, powerSize, some } from './scalars.ts';
import { checked, object, optional, type Shape } from './shape.ts';

/** Address translation for devices. */
export const translation: Shape<Translation> = object<Translation>({
  cached_pages: optional(some, 'Pages it holds before it has to walk.'),
  page: optional(powerSize, 'Size of a page.'),
  miss: optional(pause, 'Time added to a request whose page is not held.'),
  misses_at_once: optional(some, 'Misses it serves at once.'),
});

const access: Shape<ProcessorAccess> = object<ProcessorAccess>({
  uncached_size: optional(powerSize, 'Bytes of one uncached load or store.'),
  combined_size: optional(powerSize, 'Bytes of a write-combining buffer.'),
  outstanding_loads: optional(some, 'Uncached loads in flight at most.'),
  store_interval: optional(pause, 'Time between two stores, or two buffers, as issued.'),
});

/** Loads and stores by a processor: a buffer holds at least one store. */
export const processor: Shape<ProcessorAccess> = checked(access, (value, out) => {
  const { uncached_size: single, combined_size: combined } = value;
  if (single && combined) {
    atMost(['uncached_size', single], ['combined_size', combined], out);
  }
});
