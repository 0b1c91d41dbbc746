//! How heat and battery gas leave a room, and what altitude does to air. Nothing here knows a plant.
