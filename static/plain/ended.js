// What a refused answer says of the link it was asked with.
const hasEnded = (refused) => refused === "revoked" || refused === "expired";
const faultOf = ({ status, headers }) => {
  if (status !== 403) return "failed";
  return hasEnded(headers.get("Loadstead-Refused")) ? "ended" : "refused";
};
