# Every target sets up what it needs. `make help` lists them.
SHELL := /bin/bash
.DEFAULT_GOAL := help
DEMO ?= out/demo

.PHONY: help
help: ## list the targets
	@grep -E '^[a-z-]+:.*## ' $(MAKEFILE_LIST) | awk -F ':.*## ' '{printf "  make %-10s %s\n", $$1, $$2}'

.PHONY: build
build: ## build bin/sapwell
	go build -trimpath -o bin/sapwell ./cmd/sapwell

WASM := web/src/engine/built

.PHONY: engine
engine: ## build the engine for the browser
	GOOS=js GOARCH=wasm go build -trimpath -gcflags=all=-l -ldflags '-s -w' -o $(WASM)/whole.wasm ./cmd/sapwell-wasm
	go run ./internal/slim $(WASM)/whole.wasm $(WASM)/engine.wasm
	rm $(WASM)/whole.wasm
	cp "$$(go env GOROOT)/lib/wasm/wasm_exec.js" $(WASM)/wasm_exec.js

web/node_modules: web/package-lock.json
	cd web && npm ci
	@touch $@

.PHONY: web
web: engine web/node_modules ## build the app, which build then puts into the program
	cd web && npm run build

.PHONY: demo
demo: build ## plan an invented day, fill a store with it and serve it (Ctrl-C ends it)
	./bin/sapwell demo --out $(DEMO) $(ARGS)

.PHONY: tools
tools: ## install the outside programs that tests compare with (Debian; needs root)
	./.ci/tools

.PHONY: test
test: tools ## all tests, with every outside check
	./.ci/test

.PHONY: quick
quick: ## tests only, without installing anything; missing programs skip
	go test ./...

.PHONY: check
check: ## formatting and vet
	@test -z "$$(gofmt -l .)" || { gofmt -l .; echo 'run gofmt -w on these'; exit 1; }
	go vet ./...

.PHONY: bench
bench: ## benchmarks (takes a few minutes)
	go test -run xxx -bench . -benchmem ./...

.PHONY: compare
compare: tools ## speed beside HiGHS on three rings (about 20 s)
	CI=true SAPWELL_COMPARE=1 go test -count=1 -v -run '^TestSpeedAgainstHiGHS$$' ./engine/marks

.PHONY: fuzz
fuzz: ## every fuzz target for 20 s
	./.ci/fuzz 20s

.PHONY: torture
torture: tools ## long forms: kills, full disks, flips, histories; every fuzz target for 60 s (hours)
	./.ci/torture

.PHONY: clean
clean: ## remove what was built
	rm -rf bin out
