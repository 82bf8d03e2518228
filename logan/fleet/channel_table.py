"""The channels of one log as a Parquet file: one row a value."""

from __future__ import annotations

import io

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq

from logan.model.channel import ChannelSet

WORD = pa.dictionary(pa.int32(), pa.string())
SCHEMA = pa.schema(
    [
        pa.field("key", WORD, nullable=False),
        pa.field("channel", WORD, nullable=False),
        pa.field("unit", WORD, nullable=False),
        pa.field("source", WORD, nullable=False),
        pa.field("t_s", pa.float64(), nullable=False),
        pa.field("value", pa.float64()),
    ]
)


def channel_table(key: str, channels: ChannelSet) -> bytes:
    """The leading channel of each quantity in the order of their names; a value that was not valid is null."""
    each = [(channel, len(channel)) for channel in sorted(channels, key=lambda channel: channel.name)]

    def words(texts: list[str]) -> pa.Array:
        index = np.repeat(np.arange(len(texts), dtype=np.int32), [count for _, count in each])
        return pa.DictionaryArray.from_arrays(index, pa.array(texts, pa.string()))

    values = np.concatenate([channel.value for channel, _ in each] or [np.empty(0)])
    columns = [
        words([key] * len(each)),
        words([channel.name for channel, _ in each]),
        words([channel.unit for channel, _ in each]),
        words([channel.source for channel, _ in each]),
        pa.array(np.concatenate([channel.t_s for channel, _ in each] or [np.empty(0)])),
        pa.array(values, mask=np.isnan(values)),
    ]
    out = io.BytesIO()
    pq.write_table(pa.table(columns, schema=SCHEMA), out, compression="zstd")
    return out.getvalue()
