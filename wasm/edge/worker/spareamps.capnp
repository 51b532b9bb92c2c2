# The worker under workerd on one's own machine:
#
#   workerd serve spareamps.capnp
#   workerd serve spareamps.capnp --socket-addr=http=127.0.0.1:9000

using Workerd = import "/workerd/workerd.capnp";

const config :Workerd.Config = (
  services = [
    (name = "spareamps", worker = .spareamps),
    # It asks nobody for anything.
    (name = "nobody", network = (allow = [])),
  ],
  sockets = [
    (name = "http", address = "127.0.0.1:8787", http = (), service = "spareamps"),
  ],
);

const spareamps :Workerd.Worker = (
  modules = [
    (name = "worker.mjs", esModule = embed "worker.mjs"),
    (name = "wasm_exec.js", esModule = embed "wasm_exec.js"),
    (name = "spareamps_edge.wasm", wasm = embed "spareamps_edge.wasm"),
  ],
  compatibilityDate = "2026-04-01",
  globalOutbound = "nobody",
);
