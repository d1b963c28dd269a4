"""Two trams with codes that may stand for one thing, and what is known of each."""

from __future__ import annotations

from pathlib import Path

from collection.compute.case import Case
from collection.records.facts import Facts
from collection.rules.assess import assess
from collection.store.base import database, read

BY, WHY = "R. Registrar", "seen side by side, they are one"
TWO = {
    "objects": "object,title,kind\nT1,Tram 1,tram\nT2,Car no. 1,tram\n",
    "components": "object,component,name,support,area_m2,observed_on\nT1,body,body,steel,6,2001\n"
    "T1,hull,the old hull,,,2019\nT1,door,door,oak,1,\nT2,side,side,,,\n",
    "zones": "object,zone,component,name,area_m2\nT1,Z1,body,panel,3\nT1,Z2,body,lower panel,\nT1,Z3,door,,1\n",
    "schemes": "object,scheme,name,period,rank,basis\nT1,1,first,original,1,\nT1,1b,first again,original,,\n"
    "T1,2,green,later,2,lies on dirt\nT1,3,green too,later,,\nT2,T,first finish,original,1,\n",
    "samples": "object,sample,place,method,taken_on,reaches_support\nT1,S1,Z1,cross-section,2018,\n"
    "T1,S1x,Z1,cross-section,2018,no\nT1,S2,Z2,cross-section,2018,no\nT1,S3,Z1,cross-section,2018,no\n"
    "T2,U1,side,cross-section,2018,no\n",
    "layers": "object,sample,position,role,colour,scheme,coverage,thickness_um\nT1,S1,1,body colour,red,1,intact,20\n"
    "T1,S1x,1,body colour,red,1b,intact,\nT1,S1x,2,body colour,green,2,intact,40\n"
    "T1,S2,1,body colour,red,1b,partial,30\nT1,S3,1,body colour,red,1,trace,30\n"
    "T2,U1,1,body colour,red,T,intact,30\n",
    "decorations": "object,decoration,place,kind,scheme,state,observed_on\nT1,D1,Z1,lining,1,covered,2001\n"
    "T1,D2,Z1,lining,1b,exposed,2019\nT1,D3,Z1,lettering,1,covered,2001\n",
    "tests": "object,test,place,agent,dwell_s,application,tested_on\nT1,X1,Z1,acetone,60,rolled swab,2018\n"
    "T1,X2,Z1,acetone,,rolled swab,2018\nT1,X3,Z1,acetone,60,rolled swab,2018\nT2,Y1,side,acetone,9,,2018\n",
    "responses": "object,test,response,scheme,sample,position\nT1,X1,none seen,,S1,1\nT1,X2,none seen,2,,\n"
    "T1,X3,softened,,S1,1\nT2,Y1,removed,,U1,1\n",
    "hazards": "object,hazard,kind,status,observed_on\nT1,H1,lead,confirmed,2018\nT1,H2,lead,controlled,2019\n",
    "proposals": "object,proposal,title,proposed_by,proposed_on,permission\nT1,P1,clean it,N. N.,2020,letter\n"
    "T2,P1,clean that,N. N.,2020,letter\nT1,P2,dust it,N. N.,2020,letter\n",
    "proposal_steps": "object,proposal,step,place,action,agent,dwell_s,application\n"
    "T1,P1,1,Z1,solvent,acetone,30,rolled swab\nT2,P1,1,side,solvent,acetone,30,rolled swab\n"
    "T1,P2,1,all,dust,,,\n",
}


def facts_of(path: Path, object_code: str = "T1") -> Facts:
    with database.opened(path, write=False) as connection:
        return read.facts_rows(connection, object_code)


def severity(path: Path, object_code: str, proposal: str) -> str:
    with database.opened(path, write=False) as connection:
        return assess(
            Case(read.facts_rows(connection, object_code)), read.load_proposal(connection, object_code, proposal)
        ).outcome
