package read

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"

	"github.com/parquet-go/parquet-go/encoding/thrift"
	"github.com/parquet-go/parquet-go/format"
	"github.com/pierrec/lz4/v4"
)

// The decoder's LZ4 (parquet-go v0.32.0) unpacks into a buffer of its own when a page
// shrank to more than a third, and then hands on the other one, with whatever was in
// it. So pages of LZ4 are unpacked here, and the decoder gets the same file with its
// pages plain.

// wholeLZ4 bounds a file that is unpacked in memory.
const wholeLZ4 = 2 << 30

var (
	errLZ4   = errors.New("damaged: a page of lz4 cannot be unpacked")
	errLarge = errors.New("more than 2 GiB of pages of lz4, which are unpacked in memory; write the file in parts, or with zstd")
)

func isLZ4(c format.CompressionCodec) bool { return c == format.Lz4Raw || c == format.Lz4 }

// usesLZ4 says whether some column of the file does.
func usesLZ4(meta *format.FileMetaData) bool {
	for i := range meta.RowGroups {
		for k := range meta.RowGroups[i].Columns {
			if isLZ4(meta.RowGroups[i].Columns[k].MetaData.Codec) {
				return true
			}
		}
	}
	return false
}

// withoutLZ4 writes the file again, its pages of LZ4 plain. meta is changed.
func withoutLZ4(src io.ReaderAt, size int64, meta *format.FileMetaData) ([]byte, error) {
	out := []byte("PAR1")
	for i := range meta.RowGroups {
		for k := range meta.RowGroups[i].Columns {
			var err error
			if out, err = plainChunk(out, src, size, &meta.RowGroups[i].Columns[k]); err != nil {
				return nil, err
			}
		}
	}
	footer, err := thrift.Marshal(&thrift.CompactProtocol{}, meta)
	if err != nil {
		return nil, err
	}
	out = append(out, footer...)
	out = binary.LittleEndian.AppendUint32(out, uint32(len(footer)))
	return append(out, "PAR1"...), nil
}

// plainChunk adds a column's pages to out, unpacked where they are of LZ4.
func plainChunk(out []byte, src io.ReaderAt, size int64, column *format.ColumnChunk) ([]byte, error) {
	m := &column.MetaData
	start := m.DataPageOffset
	if d := m.DictionaryPageOffset; d > 0 && d < start {
		start = d
	}
	if start < 0 || m.TotalCompressedSize < 0 || start+m.TotalCompressedSize > size {
		return nil, errLZ4
	}
	chunk := make([]byte, m.TotalCompressedSize)
	if _, err := src.ReadAt(chunk, start); err != nil {
		return nil, err
	}
	begin := int64(len(out))
	data, dictionary := begin+m.DataPageOffset-start, begin+m.DictionaryPageOffset-start
	if !isLZ4(m.Codec) {
		out = append(out, chunk...)
	} else {
		data = -1
		for len(chunk) > 0 {
			at := int64(len(out))
			kind, rest, err := plainPage(&out, chunk)
			if err != nil {
				return nil, err
			}
			switch {
			case kind == format.DictionaryPage:
				dictionary = at
			case data < 0:
				data = at
			}
			chunk = rest
		}
		data = max(data, begin)
		m.Codec = format.Uncompressed
	}
	m.DataPageOffset, m.TotalCompressedSize = data, int64(len(out))-begin
	if m.DictionaryPageOffset > 0 {
		m.DictionaryPageOffset = dictionary
	}
	// What else points into the file is not asked for.
	m.IndexPageOffset, m.BloomFilterOffset, m.BloomFilterLength = 0, 0, 0
	column.FileOffset, column.OffsetIndexOffset, column.OffsetIndexLength = begin, 0, 0
	column.ColumnIndexOffset, column.ColumnIndexLength = 0, 0
	return out, nil
}

// plainPage adds the first page of the chunk to out, unpacked, and gives the rest.
func plainPage(out *[]byte, chunk []byte) (kind format.PageType, rest []byte, err error) {
	var protocol thrift.CompactProtocol
	r := protocol.NewReaderFromBytes(chunk)
	var h format.PageHeader
	if err := thrift.NewDecoder(r).Decode(&h); err != nil {
		return 0, nil, fmt.Errorf("%w: %w", errLZ4, err)
	}
	body := chunk[r.BytesRead():]
	if h.CompressedPageSize < 0 || int(h.CompressedPageSize) > len(body) || h.UncompressedPageSize < 0 {
		return 0, nil, errLZ4
	}
	if len(*out)+int(h.UncompressedPageSize) > wholeLZ4 {
		return 0, nil, errLarge
	}
	body, rest = body[:h.CompressedPageSize], body[h.CompressedPageSize:]
	levels, packed := 0, true
	if h.Type == format.DataPageV2 { // whose levels stand before what is packed
		v2 := &h.DataPageHeaderV2.V
		levels = int(v2.DefinitionLevelsByteLength) + int(v2.RepetitionLevelsByteLength)
		packed = !v2.IsCompressed.Valid || v2.IsCompressed.V
		v2.IsCompressed = thrift.New(false)
		if levels < 0 || levels > len(body) || levels > int(h.UncompressedPageSize) {
			return 0, nil, errLZ4
		}
	}
	plain := body[levels:]
	if packed {
		n := int(h.UncompressedPageSize) - levels
		if n > 255*(len(body)+1) { // more than any block of so many bytes holds
			return 0, nil, errLZ4
		}
		plain = make([]byte, n)
		if !unpackLZ4(plain, body[levels:]) {
			return 0, nil, errLZ4
		}
	}
	h.CompressedPageSize, h.UncompressedPageSize, h.CRC = int32(levels+len(plain)), int32(levels+len(plain)), 0
	head, err := thrift.Marshal(&protocol, &h)
	if err != nil {
		return 0, nil, err
	}
	*out = append(append(append(*out, head...), body[:levels]...), plain...)
	return h.Type, rest, nil
}

// unpackLZ4 fills into with what one block holds, or blocks that have their lengths
// before them, plain and packed, as the older codec of the same name has.
func unpackLZ4(into, from []byte) bool {
	if len(into) == 0 {
		return true
	}
	if n, err := lz4.UncompressBlock(from, into); err == nil && n == len(into) {
		return true
	}
	for len(into) > 0 {
		if len(from) < 8 {
			return false
		}
		plain, packed := int(binary.BigEndian.Uint32(from)), int(binary.BigEndian.Uint32(from[4:]))
		if from = from[8:]; plain > len(into) || packed > len(from) {
			return false
		}
		if n, err := lz4.UncompressBlock(from[:packed], into[:plain]); err != nil || n != plain {
			return false
		}
		into, from = into[plain:], from[packed:]
	}
	return len(from) == 0
}
