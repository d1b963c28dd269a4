"""The rules: from facts and a proposal to findings, losses and requirements. Rules yield what they find and never
raise."""
