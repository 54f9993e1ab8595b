/** The stages of a production's day, each with its plain trade word. */

export const stageWords = {
  label: "Stages of the day",
  names: {
    scout: { name: "Scout", plain: "survey" },
    chart: { name: "Chart", plain: "frequencies" },
    heed: { name: "Heed", plain: "live" },
  },
} as const;
