# probeward: the targets. A bare make lists them.
GO ?= go
BIN := bin/probeward
OUT := out
STATICCHECK := honnef.co/go/tools/cmd/staticcheck@v0.8.2
VERSION := $(shell git describe --tags --always --dirty 2>/dev/null || echo unreleased)
SOURCES := $(shell find cmd pipeline detectors schemas -name '*.go' -o -name '*.tmpl' -o -name '*.json' 2>/dev/null) go.mod

.PHONY: help build demo test lint generate detector bench-scan accuracy season browser duckdb race fuzz clean

help: ## list the targets
	@grep -hE '^[a-z-]+:.*## ' $(MAKEFILE_LIST) | sed 's/:.*## /\t/' | expand -t 14

build: $(BIN) ## build bin/probeward

$(BIN): $(SOURCES)
	$(GO) build -trimpath -ldflags '-X main.version=$(VERSION)' -o $@ ./cmd/probeward

demo: build ## an invented vineyard, scanned: results in out/demo
	rm -rf $(OUT)/vineyard $(OUT)/demo
	$(BIN) simulate --seed 7 --out $(OUT)/vineyard
	$(BIN) scan $(OUT)/vineyard/feed --out $(OUT)/demo
	@echo; echo "Open $(OUT)/demo/crew.html and $(OUT)/demo/report.html; the tables are beside them. README.md says what each person does with them."

test: ## every test
	$(GO) test ./...

lint: ## gofmt, go vet, staticcheck
	@bad=$$(gofmt -l cmd pipeline detectors schemas testdata); test -z "$$bad" || { echo "not gofmt-ed: $$bad"; exit 1; }
	$(GO) vet ./... ./testdata/accuracy ./testdata/benchscan ./testdata/season
	$(GO) run $(STATICCHECK) ./... ./testdata/accuracy ./testdata/benchscan ./testdata/season
	$(GO) -C testdata/browser vet ./...
	$(GO) -C testdata/duckdb vet ./...

generate: ## the list of detectors and their manual, from their folders
	$(GO) run ./cmd/mkdetector

detector: ## lay out a new detector: make detector NAME=lost_suction
	@test -n "$(NAME)" || { echo "make detector NAME=…, a fault of schemas/faults.go"; exit 2; }
	$(GO) run ./cmd/mkdetector $(NAME)

bench-scan: build ## ten million readings of 2,000 probes in one scan: seconds, readings a second, peak memory
	$(GO) run ./testdata/benchscan -bin $(BIN) -dir $(OUT)/bench

accuracy: ## 24 invented farms scanned and held against their truth: a table a fault
	$(GO) run ./testdata/accuracy

season: ## 26 weekly scans of one invented farm, with a crew that visits and answers
	$(GO) run ./testdata/season

browser: ## the pages of a run in a real browser (Debian's chromium; skipped where there is none)
	$(GO) -C testdata/browser test -count=1 -timeout 20m ./...

duckdb: ## every Parquet file and every example query, opened with DuckDB
	$(GO) -C testdata/duckdb test -count=1 ./...

race: ## every test under the race detector
	$(GO) test -race ./...

fuzz: ## a minute of fuzzing for each fuzz target of the reader
	for f in $$($(GO) test -list 'Fuzz.*' ./pipeline/read/... | grep ^Fuzz | sort -u); do for p in $$($(GO) list ./pipeline/read/...); do $(GO) test $$p -list "^$$f$$" | grep -q ^Fuzz && $(GO) test $$p -run xxx -fuzz "^$$f$$" -fuzztime 60s; done; done

clean: ## remove what was built and written here
	rm -rf bin $(OUT)
