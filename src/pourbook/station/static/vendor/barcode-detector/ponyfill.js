import { a as e, i as t, n, o as r, r as i, s as a, t as o } from "./zxing-exported.js";
export { o as BarcodeDetector, a as ZXING_CPP_COMMIT, i as ZXING_WASM_SHA256, r as ZXING_WASM_VERSION, n as prepareZXingModule, t as purgeZXingModule, e as setZXingModuleOverrides };
