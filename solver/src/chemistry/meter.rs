//! What meters show: readings at other temperatures, TDS scales, CF.
