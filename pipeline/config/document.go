package config

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"
	"github.com/goccy/go-yaml/token"
)

// place is a line and column, from 1.
type place struct{ line, col int }

// document is a configuration as plain values, with the place of each.
type document struct {
	file     string
	root     map[string]any
	keys     map[string]place // by the pointer of the value they name
	values   map[string]place
	anchors  map[string]ast.Node
	nodes    int
	depth    int
	problems Problems
}

// maxNodes and maxDepth hold a file that is made to burst (aliases of aliases).
const (
	maxNodes = 100_000
	maxDepth = 64
)

// parse reads the YAML. A null is a key left out. Scalars are kept as they are
// written, since all but the detectors' parameters are text: -9999 in a list of
// missing values is meant as its four digits, whether quoted or not.
func parse(file string, data []byte) *document {
	d := &document{file: file, root: map[string]any{}, keys: map[string]place{}, values: map[string]place{"": {1, 1}}, anchors: map[string]ast.Node{}}
	tree, err := parser.ParseBytes(data, 0)
	if err != nil {
		at, message := place{1, 1}, err.Error()
		var syntax *yaml.SyntaxError
		if errors.As(err, &syntax) {
			message = syntax.Message
			if syntax.Token != nil {
				at = where(syntax.Token)
			}
		}
		d.problems = append(d.problems, Problem{file, at.line, at.col, "", "not YAML: " + message})
		return d
	}
	docs := 0
	for _, doc := range tree.Docs {
		if doc.Body == nil || doc.Body.Type() == ast.CommentType || doc.Body.Type() == ast.NullType {
			continue
		}
		if docs++; docs > 1 {
			at := where(doc.Body.GetToken())
			d.problems = append(d.problems, Problem{file, at.line, at.col, "", "a second document: a configuration is one"})
			break
		}
		d.values[""] = start(doc.Body)
		switch v := d.value("", doc.Body).(type) {
		case map[string]any:
			d.root = v
		default:
			d.say("", "a configuration is a list of keys and values, such as timezone: America/Los_Angeles")
		}
	}
	return d
}

// say adds a problem at a value.
func (d *document) say(pointer, format string, args ...any) {
	d.at(pointer, d.values, format, args...)
}

// sayKey adds a problem at the key of a value.
func (d *document) sayKey(pointer, format string, args ...any) {
	d.at(pointer, d.keys, format, args...)
}

func (d *document) at(pointer string, places map[string]place, format string, args ...any) {
	at, ok := places[pointer]
	for p := pointer; !ok && p != ""; {
		p = p[:strings.LastIndexByte(p, '/')]
		at, ok = d.values[p]
	}
	d.problems = append(d.problems, Problem{d.file, max(1, at.line), max(1, at.col), pointer, fmt.Sprintf(format, args...)})
}

func where(t *token.Token) place {
	if t == nil || t.Position == nil {
		return place{1, 1}
	}
	return place{t.Position.Line, t.Position.Column}
}

// start is where a value begins: a mapping begins at its first key, not at the
// colon after it.
func start(n ast.Node) place {
	switch n := n.(type) {
	case *ast.MappingNode:
		if !n.IsFlowStyle && len(n.Values) > 0 {
			return where(n.Values[0].Key.GetToken())
		}
	case *ast.MappingValueNode:
		return where(n.Key.GetToken())
	}
	return where(n.GetToken())
}

// under is the pointer of a key or place below another (RFC 6901).
func under(pointer, key string) string {
	return pointer + "/" + strings.NewReplacer("~", "~0", "/", "~1").Replace(key)
}

// value makes a node a plain value: map[string]any, []any, string, or below
// /detectors also float64 and bool.
func (d *document) value(pointer string, n ast.Node) any {
	d.depth++
	defer func() { d.depth-- }()
	if d.nodes++; d.nodes > maxNodes || d.depth > maxDepth {
		if d.nodes <= maxNodes+1 || d.depth == maxDepth+1 {
			d.say(pointer, "more nested or repeated than a configuration can be")
		}
		return nil
	}
	switch n := n.(type) {
	case *ast.MappingNode:
		return d.mapping(pointer, n.Values)
	case *ast.MappingValueNode:
		return d.mapping(pointer, []*ast.MappingValueNode{n})
	case *ast.SequenceNode:
		list := make([]any, 0, len(n.Values))
		for _, v := range n.Values {
			p := under(pointer, fmt.Sprint(len(list)))
			d.values[p] = start(v)
			if item := d.value(p, v); item != nil {
				list = append(list, item)
			} else {
				d.say(p, "an entry of a list is empty: take it out, or quote it if an empty text is meant")
			}
		}
		return list
	case *ast.AnchorNode:
		d.anchors[n.Name.GetToken().Value] = n.Value
		return d.value(pointer, n.Value)
	case *ast.AliasNode:
		to, ok := d.anchors[n.Value.GetToken().Value]
		if !ok {
			d.say(pointer, "no anchor &%s stands above", n.Value.GetToken().Value)
			return nil
		}
		return d.value(pointer, to)
	case *ast.TagNode:
		return d.value(pointer, n.Value)
	case *ast.NullNode, nil:
		return nil
	case *ast.LiteralNode:
		return n.Value.Value
	case *ast.StringNode:
		// The library takes 1e-1 for text; as a parameter it is a number.
		if v, err := strconv.ParseFloat(n.Value, 64); err == nil && n.Token.Type == token.StringType &&
			strings.HasPrefix(pointer, "/detectors/") && !math.IsInf(v, 0) && !math.IsNaN(v) {
			return v
		}
		return n.Value
	}
	return d.scalar(pointer, n)
}

// scalar keeps what is written, but for the parameters of detectors.
func (d *document) scalar(pointer string, n ast.Node) any {
	if strings.HasPrefix(pointer, "/detectors/") {
		switch n := n.(type) {
		case *ast.IntegerNode:
			switch v := n.Value.(type) {
			case int64:
				return float64(v)
			case uint64:
				return float64(v)
			}
		case *ast.FloatNode:
			if !math.IsInf(n.Value, 0) && !math.IsNaN(n.Value) {
				return n.Value
			}
		case *ast.BoolNode:
			return n.Value
		}
	}
	return n.GetToken().Value
}

func (d *document) mapping(pointer string, pairs []*ast.MappingValueNode) map[string]any {
	m := make(map[string]any, len(pairs))
	for _, pair := range pairs {
		if pair.Key.IsMergeKey() {
			if more, ok := d.value(pointer, pair.Value).(map[string]any); ok {
				for k, v := range more {
					if _, have := m[k]; !have {
						m[k] = v
					}
				}
			}
			continue
		}
		key := pair.Key.GetToken().Value
		if k, ok := pair.Key.(*ast.MappingKeyNode); ok && k.Value != nil {
			key = k.Value.GetToken().Value
		}
		p := under(pointer, key)
		d.keys[p], d.values[p] = where(pair.Key.GetToken()), start(pair.Value)
		if v := d.value(p, pair.Value); v != nil {
			m[key] = v
		} else {
			delete(m, key)
		}
	}
	return m
}
