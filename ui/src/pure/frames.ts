/** The binary messages of the live feed: little-endian, a header of 32 bytes, planes padded to four bytes. */

export const TABLES = ["device", "carrier", "branch", "channel", "pack", "output", "input", "bay"] as const;
export type TableName = (typeof TABLES)[number];

const HEADER_BYTES = 32;
const READINGS = 1;
const RECENT = 2;
const VERSION = 1;
const ABSENT_LEVEL = -32768;
const FLOAT_PLANE = 0;

export interface FrameColumn {
  /** Index into the columns of the snapshot's table. */
  readonly index: number;
  readonly values: Float32Array | Uint8Array;
  readonly qualities: Uint8Array;
  /** In tenths of a second; 65535 means older than that, or never. */
  readonly ages: Uint16Array;
}

export interface ReadingsFrame {
  readonly kind: "readings";
  readonly table: TableName;
  readonly rows: number;
  readonly epoch: number;
  readonly sequence: number;
  readonly utcUs: number;
  readonly monotonicUs: number;
  readonly columns: readonly FrameColumn[];
}

export interface RecentFrame {
  readonly kind: "recent";
  readonly rows: number;
  readonly epoch: number;
  readonly cells: number;
  readonly utcUs: number;
  readonly monotonicUs: number;
  /** Row-major planes of rows × cells; levels in dBm with NaN for absent, shares 0 to 1. */
  readonly median: Float32Array;
  readonly worst: Float32Array;
  readonly damage: Float32Array;
  readonly speech: Float32Array;
  readonly reported: Float32Array;
  readonly deaf: Uint8Array;
}

/** Reads a binary message; throws RangeError when it isn't one of ours or is cut short. */
export function readFrame(buffer: ArrayBuffer): ReadingsFrame | RecentFrame {
  const view = new DataView(buffer);
  const kind = view.getUint8(0);
  const version = view.getUint8(1);
  if (version !== VERSION) throw new RangeError(`version ${version} of the live feed is not ours`);
  if (kind === READINGS) return readReadings(buffer, view);
  if (kind === RECENT) return readRecent(buffer, view);
  throw new RangeError(`a message of kind ${kind} is not of the live feed`);
}

function readReadings(buffer: ArrayBuffer, view: DataView): ReadingsFrame {
  const table = TABLES[view.getUint8(2)];
  if (table === undefined) throw new RangeError("a frame names a table that doesn't exist");
  const rows = view.getUint32(4, true);
  const cursor = new Planes(buffer, HEADER_BYTES);
  const columns: FrameColumn[] = [];
  for (let count = view.getUint8(3); count > 0; count -= 1) columns.push(readColumn(view, cursor, rows));
  return {
    kind: "readings",
    table,
    rows,
    epoch: view.getUint32(8, true),
    sequence: view.getUint32(12, true),
    utcUs: wide(view, 16),
    monotonicUs: wide(view, 24),
    columns,
  };
}

function readColumn(view: DataView, cursor: Planes, rows: number): FrameColumn {
  const index = view.getUint16(cursor.at, true);
  const plane = view.getUint8(cursor.at + 2);
  cursor.skip(4);
  return {
    index,
    values: plane === FLOAT_PLANE ? cursor.floats(rows) : cursor.bytes(rows),
    qualities: cursor.bytes(rows),
    ages: cursor.words(rows),
  };
}

function readRecent(buffer: ArrayBuffer, view: DataView): RecentFrame {
  const rows = view.getUint32(4, true);
  const cells = view.getUint32(12, true);
  const cursor = new Planes(buffer, HEADER_BYTES);
  const size = rows * cells;
  return {
    kind: "recent",
    rows,
    epoch: view.getUint32(8, true),
    cells,
    utcUs: wide(view, 16),
    monotonicUs: wide(view, 24),
    median: levels(cursor.shorts(size)),
    worst: levels(cursor.shorts(size)),
    damage: shares(cursor.bytes(size)),
    speech: shares(cursor.bytes(size)),
    reported: shares(cursor.bytes(size)),
    deaf: cursor.bytes(size),
  };
}

/** Microseconds since 1970 fit a double without loss until the year 2255. */
function wide(view: DataView, offset: number): number {
  return Number(view.getBigUint64(offset, true));
}

function levels(tenths: Int16Array): Float32Array {
  return Float32Array.from(tenths, (value) => (value === ABSENT_LEVEL ? Number.NaN : value / 10));
}

function shares(bytes: Uint8Array): Float32Array {
  return Float32Array.from(bytes, (value) => value / 255);
}

/** Takes one plane after another; typed arrays throw RangeError where the buffer is too short. */
class Planes {
  constructor(
    private readonly buffer: ArrayBuffer,
    public at: number,
  ) {}

  skip(bytes: number): void {
    this.at += bytes;
  }

  floats(count: number): Float32Array {
    return new Float32Array(this.buffer, this.advance(count * 4), count);
  }

  bytes(count: number): Uint8Array {
    return new Uint8Array(this.buffer, this.advance(count), count);
  }

  words(count: number): Uint16Array {
    return new Uint16Array(this.buffer, this.advance(count * 2), count);
  }

  shorts(count: number): Int16Array {
    return new Int16Array(this.buffer, this.advance(count * 2), count);
  }

  private advance(bytes: number): number {
    const start = this.at;
    this.at += Math.ceil(bytes / 4) * 4;
    return start;
  }
}
