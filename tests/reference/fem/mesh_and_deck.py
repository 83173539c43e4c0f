#!/usr/bin/python3
"""Structured mesh + CalculiX deck generator: quarter slice of a tubular shank (with optional solid
metallic-area wire disc) in a split hexagonal die.  Generalised plane strain (free uniform axial stretch).
  python3 mesh_and_deck.py CASE [key=value ...]     -> decks/CASE.inp + decks/CASE.json
units mm, N, MPa."""
import numpy as np, json, sys, math
CASES={
 'a':dict(D0=9.12,d0=5.16,d=4.76,C=0.418,W=7.95),
 'b':dict(D0=9.12,d0=5.16,d=4.76,C=0.432,W=7.95),
 'c':dict(D0=9.12,d0=5.16,d=4.76,C=0.595,W=7.95),
 'd':dict(D0=9.12,d0=5.16,d=0,C=0,W=7.95),
 'e':dict(D0=6.35,d0=3.58,d=3.18,C=0.418,W=5.56),
 'f':dict(D0=12.55,d0=6.73,d=6.35,C=0.418,W=11.13),
 'hold':dict(D0=8.0,d0=4.5,d=4.0,C=0.432,W=7.0),
 'g':dict(D0=9.12,d0=0,d=0,C=0,W=7.95),
}
CASES.update({
 'r1':dict(D0=9.12,d0=5.16,d=4.76,C=0.418,W=7.95),
 'r2':dict(D0=9.12,d0=5.16,d=0,C=0,W=7.95),
})
DEF=dict(mu=0.10,muw=None,nr=8,nt=40,elem='C3D8',t=0.4,K=1e6,lam=None,wirefree=0,rf=0.10,second=0,
         Ksh=1275.,nsh=0.45,sy=240.,Esh=193e3,nush=0.29,Ew=170e3,dmax=0.02,dmin=1e-7,clear=0.01,gend=0.0,Kw=None,
         pscale=1.0,retract=0.35,nw=8,porous=0,axcore=0,sw=1650.,rhoc=0.0,ntab=16,uini=0.02,umax=0.1,unl='mc',zfix=0,Fz=0.0,rnd=0,rrel=0.05,bias=0.0,nfac=36,ptab=0.0)
def quarter_disc(R,n,nr):
    """butterfly quarter disc: inner block n x n, ring nr x 2n.  returns xy, quads, outer ring node ids"""
    a=0.50*R; b=0.42*R   # inner block corner on axis / diagonal coordinate
    xy=[];idx={}
    def add(key,p):
        if key not in idx: idx[key]=len(xy); xy.append(p)
        return idx[key]
    def inner(i,j):
        u=i/n;v=j/n
        # bilinear on (0,0),(a,0),(b,b),(0,a) with slightly bulged edges
        p=np.array([u*a*(1-v)+u*v*b, v*a*(1-u)+u*v*b]); return p
    for i in range(n+1):
        for j in range(n+1): add(('i',i,j),inner(i,j))
    q=[]
    for i in range(n):
        for j in range(n): q.append([idx['i',i,j],idx['i',i+1,j],idx['i',i+1,j+1],idx['i',i,j+1]])
    bnd=[(n,j) for j in range(n+1)]+[(i,n) for i in range(n-1,-1,-1)]
    m=2*n; outer=[]
    for k in range(m+1):
        th=0.5*math.pi*k/m; pi_=np.array(xy[idx['i',bnd[k][0],bnd[k][1]]]); po=R*np.array([math.cos(th),math.sin(th)])
        for l in range(nr+1):
            if l==0: idx['r',k,0]=idx['i',bnd[k][0],bnd[k][1]]
            else: add(('r',k,l),pi_+(po-pi_)*l/nr)
        outer.append(idx['r',k,nr])
    for k in range(m):
        for l in range(nr): q.append([idx['r',k,l],idx['r',k,l+1],idx['r',k+1,l+1],idx['r',k+1,l]])
    return np.array(xy),q,outer
def ang(k,nt,bias=0.0):
    if not bias: return 0.5*math.pi*k/nt
    u=k/nt
    return 0.5*math.pi*((1-bias)*u+bias*u*u)   # bias>0: finer cells at theta=0 (parting line)
def quarter_ring(Ri,Ro,nr,nt,bias=0.0):
    xy=[];q=[]
    nid=lambda i,k:k*(nr+1)+i
    for k in range(nt+1):
        th=ang(k,nt,bias)
        for i in range(nr+1):
            r=Ri+(Ro-Ri)*i/nr; xy.append(np.array([r*math.cos(th),r*math.sin(th)]))
    for k in range(nt):
        for i in range(nr): q.append([nid(i,k),nid(i+1,k),nid(i+1,k+1),nid(i,k+1)])
    return np.array(xy),q,[nid(0,k) for k in range(nt+1)],[nid(nr,k) for k in range(nt+1)]
def die_poly(W,rf,closed_axis='y'):
    """polyline of quarter of one die half at g=0 (closing axis y): base flat, inner corner, side flat, fillet, parting face"""
    c=W/math.sqrt(3)
    P0=np.array([c,0.]);                       # split corner
    t=rf*math.tan(math.radians(30))            # tangent length, turn 60 deg
    us=np.array([-0.5,math.sqrt(3)/2])         # along side flat upward
    A=P0+us*t; B=P0+np.array([t,0.])
    cen=np.array([B[0],rf])
    pts=[np.array([-0.4,W/2]),np.array([c/2,W/2])]
    pts.append(A)
    a0=math.atan2(*(A-cen)[::-1]); a1=math.atan2(*(B-cen)[::-1])
    if a1>a0: a1-=2*math.pi
    if a0-a1>math.pi: a1+=2*math.pi
    for s in (0.25,0.5,0.75): 
        an=a0+(a1-a0)*s; pts.append(cen+rf*np.array([math.cos(an),math.sin(an)]))
    pts+= [B,np.array([c+2.5,0.])]
    if closed_axis=='x': pts=[p[::-1].copy() for p in pts][::-1]
    return pts
def die_round(W,rr,ax='y',nfac=36,nfil=10):
    """polyline + back points of one quarter of a half-cylindrical groove die at g=0 (closing axis y): arc R=W/2 centred at origin,
    parting-edge relief = convex fillet radius rr tangent to the arc and to the parting face y=0."""
    R=W/2; cx=math.sqrt((R+rr)**2-rr**2); a=math.atan2(rr,cx)
    dth=(0.5*math.pi-a)/nfac; Rp=R*math.sqrt(dth/math.sin(dth))    # circumscribed/inscribed mean: equal sector area
    P=[];B=[]
    for k in range(-2,nfac+1):
        th=0.5*math.pi-k*dth; rad=Rp if k<nfac else R
        P.append(np.array([rad*math.cos(th),rad*math.sin(th)])); ph=math.radians(45)+0.5*th
        B.append(P[-1]+0.8*np.array([math.cos(ph),math.sin(ph)]))
    for k in range(1,nfil+1):
        an=(a+math.pi)+(1.5*math.pi-a-math.pi)*k/nfil
        P.append(np.array([cx+rr*math.cos(an),rr+rr*math.sin(an)])); B.append(P[-1]+0.8*np.array([.7071,.7071]))
    P.append(np.array([cx+2.5,0.])); B.append(P[-1]+0.8*np.array([.7071,.7071]))
    if ax=='x': P=[q[::-1].copy() for q in P][::-1]; B=[q[::-1].copy() for q in B][::-1]
    return P,B
def round_g0(D0,W,rr):
    """gap at which the relief fillets first touch a round tube D0>W"""
    R=W/2; cx2=(R+rr)**2-rr**2
    return max(0.,2*(math.sqrt(max((D0/2+rr)**2-cx2,0))-rr)) if D0>W else 0.
def build(case,out=None,**kw):
    p=dict(DEF);p.update(CASES[case]);p.update(kw)
    p['case']=case
    if p['muw'] is None:p['muw']=p['mu']
    if p['lam'] is None:p['lam']=p['K']/20
    if p['Kw'] is None:p['Kw']=p['K']
    out=out or case
    D0,d0,W,t=p['D0'],p['d0'],p['W'],p['t']
    quad8=p['elem'].startswith('C3D20')
    nodes=[];elsets={};surf={};lines=[]
    N2=[] # 2D corner nodes
    parts=[]
    def scaleR(R,ncell90):  # radius so the inscribed polygon has the exact area
        th=0.5*math.pi/ncell90; return R*math.sqrt(th/math.sin(th))
    if d0>0:
        Ro=D0/2;Ri=d0/2   # keep exact OD radius (contact), adjust bore for exact area
        f=sum(math.sin(ang(k+1,p['nt'],p['bias'])-ang(k,p['nt'],p['bias'])) for k in range(p['nt']))/(0.5*math.pi)
        A=math.pi*(Ro**2-Ri**2); Ri=math.sqrt(Ro**2-A/(math.pi*f))
        xy,q,inn,outr=quarter_ring(Ri,Ro,p['nr'],p['nt'],p['bias'])
        parts.append(('SHANK',xy,q,dict(INN=inn,OUT=outr)))
        p['A_shank']=A
    else:
        n=p['nt']//2
        xy,q,outr=quarter_disc(D0/2,n,p['nr'])
        parts.append(('SHANK',xy,q,dict(OUT=outr))); p['A_shank']=math.pi*D0**2/4
    p['A_wire']=0
    if p['d']>0:
        p['A_wire']=p['C']*p['d']**2; p['Rw']=math.sqrt(p['A_wire']/math.pi)
    if p['d']>0 and not p['porous']:
        Aw=p['C']*p['d']**2; Rw=math.sqrt(Aw/math.pi); p['A_wire']=Aw;p['Rw']=Rw
        Rm=p['d']/2 if p['porous'] else scaleR(Rw,2*p['nw'])
        xy,q,outr=quarter_disc(Rm,p['nw'],max(2,p['nw']//2))
        parts.append(('WIRE',xy,q,dict(WOUT=outr)))
    nid=1; eid=1; inp=['*NODE,NSET=NALL']; els=[];mesh={}
    sym_x=[];sym_y=[];front=[];eqs=[];info={}
    zref={}
    allnodes={}
    for name,xy,q,rings in parts:
        n2=len(xy); lay0=nid
        ids0=[nid+i for i in range(n2)]; ids1=[nid+n2+i for i in range(n2)]
        nid+=2*n2
        zr=ids1[0] if (name=='SHANK' or (p['wirefree'] and not p['porous'])) else zref['SHANK']
        zref[name]=zr
        pos={}
        for i in range(n2):
            pos[ids0[i]]=(xy[i][0],xy[i][1],0.0);pos[ids1[i]]=(xy[i][0],xy[i][1],t)
            front.append(ids0[i])
            if ids1[i]!=zr: eqs.append([(ids1[i],3,1.0),(zr,3,-1.0)])
        emid={}
        def mid(a,b):
            nonlocal nid
            k=(min(a,b),max(a,b))
            if k not in emid:
                emid[k]=nid; pa=np.array(pos[a]);pb=np.array(pos[b]);pos[nid]=tuple((pa+pb)/2);
                z=pos[nid][2]
                if z<1e-9: front.append(nid)
                elif z>t-1e-9: eqs.append([(nid,3,1.0),(zr,3,-1.0)])
                else: eqs.append([(nid,3,2.0),(zr,3,-1.0)])
                nid+=1
            return emid[k]
        elist=[];edge2el={}
        for e in q:
            c=[ids0[i] for i in e]+[ids1[i] for i in e]
            if quad8:
                m=[mid(c[0],c[1]),mid(c[1],c[2]),mid(c[2],c[3]),mid(c[3],c[0]),mid(c[4],c[5]),mid(c[5],c[6]),mid(c[6],c[7]),mid(c[7],c[4]),mid(c[0],c[4]),mid(c[1],c[5]),mid(c[2],c[6]),mid(c[3],c[7])]
                c=c+m
            elist.append((eid,c))
            for f in range(4): edge2el[(e[f],e[(f+1)%4])]=(eid,f+3)   # ccx side faces: S3:1-2 edge,S4:2-3,S5:3-4,S6:4-1
            eid+=1
        for k,v in sorted(pos.items()):
            inp.append('%d,%.9g,%.9g,%.9g'%(k,*v))
            if abs(v[0])<1e-9: sym_x.append(k)
            if abs(v[1])<1e-9: sym_y.append(k)
            allnodes[k]=v
        els.append('*ELEMENT,TYPE=%s,ELSET=E%s'%(p['elem'],name))
        for e,c in elist:
            s=[str(x) for x in c]
            if len(s)>10: els.append('%d,%s,'%(e,','.join(s[:10])));els.append(','.join(s[10:]))
            else: els.append('%d,%s'%(e,','.join(s)))
        for rn,ring in rings.items():
            fl=[]
            for a,b in zip(ring[:-1],ring[1:]):
                if (a,b) in edge2el: fl.append(edge2el[(a,b)])
                elif (b,a) in edge2el: fl.append(edge2el[(b,a)])
                else: raise RuntimeError('ring')
            surf[rn]=fl
            mesh['ring_'+rn]=[ids0[i] for i in ring]
        mesh[name]=dict(n0=ids0[0],n2=n2,quads=[[ids0[i] for i in e] for e in q])
        if quad8:
            mesh[name]['mids_all']=emid
            mesh[name]['mids']={ '%d_%d'%k:v for k,v in emid.items() if k[0] in ids0 and k[1] in ids0}
    if p['axcore'] and p['d']>0:
        # separate uniaxial bar of metallic area A_w/4 carrying axial load only (gripped wire), no contact
        a_=math.sqrt(p['A_wire'])/2; c=[]
        for z in (0,t):
            for (x,y) in ((0,0),(a_,0),(a_,a_),(0,a_)):
                inp.append('%d,%.9g,%.9g,%.9g'%(nid,x,y,z)); c.append(nid)
                if x==0: sym_x.append(nid)
                if y==0: sym_y.append(nid)
                if z==0: front.append(nid)
                else: eqs.append([(nid,3,1.0),(zref['SHANK'],3,-1.0)])
                nid+=1
        els.append('*ELEMENT,TYPE=C3D8,ELSET=ECORE'); els.append('%d,%s'%(eid,','.join(map(str,c)))); eid+=1
    sprdef=[]
    if p['porous'] and p['d']>0:
        # rope of nominal diameter d: Winkler layer of nonlinear radial springs from every bore node to the axis,
        # p(rho)=sw/sqrt3*ln((1-rc)/(1-rho)),  rho=rho0*(Rn/r)^2  (zero force for r>Rn)
        rho0=p['A_wire']/(math.pi*p['d']**2/4); rc=max(rho0,p['rhoc']); Rn=p['d']/2; Ri0=p['d0']/2
        p['rho0']=rho0
        pl=np.concatenate([np.linspace(0,1500,10),np.linspace(1900,4000,6)])
        rho=1-(1-rc)*np.exp(-pl*math.sqrt(3)/p['sw']); rr=Rn*np.sqrt(rho0/rho)
        ring=mesh['ring_INN']; n2=mesh['SHANK']['n2']; dth=0.5*math.pi/p['nt']
        cen=[nid,nid+1]; inp.append('%d,0,0,0'%nid); inp.append('%d,0,0,%.9g'%(nid+1,t)); nid+=2
        front.append(cen[0]); eqs.append([(cen[1],3,1.0),(zref['SHANK'],3,-1.0)])
        r0=np.hypot(*allnodes[ring[0]][:2])
        wcls={}
        if quad8:
            # HRZ-type positive lumping of the 8-node bore face: corner 3/76, mid 16/76
            md=mesh['SHANK']['mids_all']; A_=t*dth
            def addw(n_,w_): wcls[n_]=wcls.get(n_,0)+w_*A_   # A_ looked up at call time
            for k_i,(a_,b_) in enumerate(zip(ring[:-1],ring[1:])):
                if p['bias']: A_=t*(ang(k_i+1,p['nt'],p['bias'])-ang(k_i,p['nt'],p['bias']))
                for n_ in (a_,b_,a_+n2,b_+n2): addw(n_,3/76)
                for k_ in ((a_,b_),(a_+n2,b_+n2),(a_,a_+n2),(b_,b_+n2)): addw(md[(min(k_),max(k_))],16/76)
        else:
            for i_,n_ in enumerate(ring):
                for L_ in (0,1): wcls[n_+L_*n2]=(0.25 if i_ in (0,len(ring)-1) else 0.5)*t*dth
        groups={}
        for n_,w_ in wcls.items(): groups.setdefault(round(w_,9),[]).append(n_)
        if quad8:
            cen.append(nid); inp.append('%d,0,0,%.9g'%(nid,t/2)); eqs.append([(nid,3,2.0),(zref['SHANK'],3,-1.0)]); nid+=1
        for half,(w,nl) in enumerate(groups.items()):
            els.append('*ELEMENT,TYPE=SPRINGA,ELSET=ESP%d'%half)
            for n_ in nl:
                z_=allnodes[n_][2]; c_=cen[0] if z_<1e-9 else (cen[1] if z_>t-1e-9 else cen[2])
                r0=np.hypot(*allnodes[n_][:2])
                els.append('%d,%d,%d'%(eid,c_,n_)); eid+=1
            tab=[(-P_*R_*w,R_-r0) for P_,R_ in zip(pl,rr)][::-1]+[(0.0,1.0)]
            sprdef+=['*SPRING,ELSET=ESP%d,NONLINEAR'%half,'']+['%.8g,%.8g'%x for x in tab]
        els.append('*NSET,NSET=NCEN'); els.append(','.join(map(str,cen)))
    # dies
    dies=[('DIE1','y')]+([('DIE2','x')] if p['second'] else [])
    g0=2*(D0-W)+p['clear']*4    # side flat clearance = clear
    if p['rnd']: g0=round(round_g0(D0,W,p['rrel']*W)+p['clear']*4,4)
    p['g0']=g0
    park=3.0
    for dn,ax in dies:
        if p['rnd']: pts,backr=die_round(W,p['rrel']*W,ax,int(p['nfac']))
        else: pts=die_poly(W,p['rf'],ax)
        # initial offset along closing axis: g0/2 for die1 ; die2 parked
        off=g0/2 if dn=='DIE1' else park
        p['off_'+dn]=off
        sh=np.array([0,off]) if ax=='y' else np.array([off,0])
        th_=0.8
        # outward thickness vector: block nodes behind polyline (away from axis)
        n=len(pts); back=[]
        for i,pt in enumerate(pts):
            if p['rnd']: back.append(backr[i])
            elif ax=='y': back.append(np.array([pt[0],pt[1]+1.0]) if pt[0]<W/math.sqrt(3)-0.3 else np.array([pt[0]+0.0,pt[1]+1.0]))
            else: back.append(np.array([pt[0]+1.0,pt[1]]))
        z0,z1=-0.05*t,1.05*t
        base=nid; dnodes=[]
        for i in range(n):
            for (pt,zz) in ((pts[i]+sh,z0),(back[i]+sh,z0),(pts[i]+sh,z1),(back[i]+sh,z1)):
                inp.append('%d,%.9g,%.9g,%.9g'%(nid,pt[0],pt[1],zz)); dnodes.append(nid)
                eqs.append([(nid,3,1.0),(zref['SHANK'],3,-zz/t)])
                nid+=1
        els.append('*ELEMENT,TYPE=C3D8,ELSET=E%s'%dn); fl=[]
        for i in range(n-1):
            a=base+4*i; b=base+4*(i+1)
            # face nodes front: a(z0),b(z0),b+2(z1),a+2(z1); back +1
            f=[a,b,b+2,a+2]; bk=[a+1,b+1,b+3,a+3]
            c=f+bk
            # ensure positive volume
            P={}
            def co(k):
                j=(k-base)//4;r=(k-base)%4
                q2=(pts[j] if r in(0,2) else back[j]); return np.array([q2[0],q2[1],z0 if r<2 else z1])
            v=np.dot(np.cross(co(c[1])-co(c[0]),co(c[3])-co(c[0])),co(c[4])-co(c[0]))
            if v<0: c=[f[0],f[3],f[2],f[1],bk[0],bk[3],bk[2],bk[1]]
            els.append('%d,%s'%(eid,','.join(map(str,c)))); fl.append((eid,1)); eid+=1
        surf[dn]=fl
        inp.append('*NSET,NSET=N%s'%dn if False else '**')
        els.append('*NSET,NSET=N%s'%dn)
        for i in range(0,len(dnodes),8): els.append(','.join(map(str,dnodes[i:i+8]))+',')
    o=['** generated by gen.py case=%s'%out]+inp+els
    def nset(nm,l):
        o.append('*NSET,NSET=%s'%nm)
        for i in range(0,len(l),8): o.append(','.join(map(str,l[i:i+8]))+',')
    nset('SYMX',sym_x);nset('SYMY',sym_y);nset('FRONT',front);nset('ZREF',sorted(set(zref.values())))
    nset('BODY',sorted(allnodes))
    for s,fl in surf.items():
        o.append('*SURFACE,NAME=S%s,TYPE=ELEMENT'%s)
        for e,f in fl: o.append('%d,S%d'%(e,f))
    for e in eqs:
        o.append('*EQUATION');o.append('%d'%len(e));o.append(','.join('%d,%d,%.12g'%x for x in e))
    ps=p['pscale']
    eps0=(p['sy']/p['Ksh'])**(1/p['nsh'])
    eps=np.concatenate([[0],np.geomspace(0.001,4,60)])
    o+=['*MATERIAL,NAME=SS','*ELASTIC','%g,%g'%(p['Esh'],p['nush']),'*PLASTIC']
    o+=['%.6g,%.6g'%(ps*p['Ksh']*(eps0+x)**p['nsh'],x) for x in eps]
    o+=['*MATERIAL,NAME=WIRE','*ELASTIC','%g,0.29'%p['Ew'],'*PLASTIC','1500.,0.','1650.,0.02','1740.,0.05','1800.,0.1','1805.,4.']
    o+=['*MATERIAL,NAME=DIEM','*ELASTIC','1.0,0.0']
    o+=sprdef
    o+=['*SOLID SECTION,ELSET=ESHANK,MATERIAL=SS']
    if p['d']>0 and not p['porous']:o+=['*SOLID SECTION,ELSET=EWIRE,MATERIAL=WIRE']
    if p['axcore'] and p['d']>0:o+=['*SOLID SECTION,ELSET=ECORE,MATERIAL=WIRE']
    for dn,ax in dies:o+=['*SOLID SECTION,ELSET=E%s,MATERIAL=DIEM'%dn]
    def inter(nm,mu,K):
        o.append('*SURFACE INTERACTION,NAME=%s'%nm)
        if p['ptab']: o.extend(['*SURFACE BEHAVIOR,PRESSURE-OVERCLOSURE=TABULAR','0.,0.','%g,%g'%(15e3*p['ptab'],p['ptab']/2),'%g,%g'%(60e3*p['ptab'],p['ptab']),'%g,%g'%(60e3*p['ptab']+0.05*K,p['ptab']+0.05)])   # soft start over the first ptab mm
        else: o.extend(['*SURFACE BEHAVIOR,PRESSURE-OVERCLOSURE=LINEAR','%g'%K])
        if mu>0:o.extend(['*FRICTION','%g,%g'%(mu,p['lam'])])
    inter('IDIE',p['mu'],p['K'])
    for dn,ax in dies:
        o.extend(['*CONTACT PAIR,INTERACTION=IDIE,TYPE=SURFACE TO SURFACE','SOUT,S%s'%dn])
    if p['d']>0 and not p['porous']:
        inter('IW',p['muw'],p['Kw'])
        o.extend(['*CONTACT PAIR,INTERACTION=IW,TYPE=SURFACE TO SURFACE','SINN,SWOUT'])
    o+=['*BOUNDARY','SYMX,1,1','SYMY,2,2','FRONT,3,3']
    if p['zfix']: o+=['ZREF,3,3']
    if p['porous'] and p['d']>0: o+=['NCEN,1,2']
    for dn,ax in dies:o+=['NDIE%s,1,2'%dn[-1]]
    # steps
    steps=[]
    gl=[g for g in ([6.,5.,4.,3.5,3.,2.6,2.3,2.0] if p['rnd'] else [])+[1.6,1.0,0.5,0.25,0.1,0.05,0.0] if g<g0 and g>p['gend']-1e-9]
    prev=g0
    for g in gl: steps.append(('DIE1','y',prev,g));prev=g
    steps.append(('DIE1','y',prev,prev+p['retract']))
    if p['second']:
        # die 2 approach in free air then squeeze; die1 further open
        gg=2*park
        for g in [2.6,1.6,1.0,0.5,0.25,0.1,0.05,0.0]:
            if g>p['gend']-1e-9: steps.append(('DIE2','x',gg,g)); gg=g
        steps.append(('DIE2','x',gg,gg+p['retract']))
    p['steps']=steps
    first=True
    cur={'DIE1':g0,'DIE2':2*park}
    for k,(dn,ax,ga,gb) in enumerate(steps):
        dist=abs(ga-gb)/2
        free=False
        unload=gb>ga
        per=abs(ga-gb)
        dm=p['dmax']
        if p['rnd'] and gb>=1.0: dm=2*dm
        if gb<0.3 and not unload: dm=min(dm,0.01)
        if gb<0.06 and not unload: dm=min(dm,0.005)
        if dn=='DIE2' and ga>3: dm=0.5
        ini=min(dm,per)
        if dn=='DIE2' and ga>3: ini=1e-3
        if unload: ini=p['uini']
        o+=['*STEP,NLGEOM,INC=5000','*STATIC','%g,%g,%g,%g'%(ini,per,p['dmin'],dm if not unload else p['umax'])]
        if first:
            o+=['*CONTROLS,PARAMETERS=TIME INCREMENTATION','8,12,9,24,15,6,,8,,']
            first=False
        off=p['off_'+dn]
        if unload and p['unl']=='mc': o+=['*MODEL CHANGE,TYPE=CONTACT PAIR,REMOVE','SOUT,S%s'%dn]
        if unload and p['unl']=='fr': o+=['*CHANGE FRICTION,INTERACTION=IDIE','*FRICTION','0.002,%g'%p['lam']]
        o+=['*BOUNDARY']
        d=gb/2-off
        if ax=='y':o+=['N%s,1,1,0.'%dn,'N%s,2,2,%.9g'%(dn,d)]
        else:o+=['N%s,1,1,%.9g'%(dn,d),'N%s,2,2,0.'%dn]
        if p['Fz'] and k==0: o+=['*CLOAD','ZREF,3,%.8g'%(-p['Fz']/4)]
        o+=['*NODE PRINT,NSET=NDIE1,TOTALS=ONLY','RF']
        if p['second']: o+=['*NODE PRINT,NSET=NDIE2,TOTALS=ONLY','RF']
        o+=['*NODE PRINT,NSET=ZREF','U']
        o+=['*NODE PRINT,NSET=BODY','U']
        o+=['*CONTACT PRINT','CSTR']
        if unload or gb<1e-9: o+=['*NODE FILE,FREQUENCY=100000','U','*EL FILE,FREQUENCY=100000','S,PEEQ']
        o+=['*END STEP']
    open('decks/%s.inp'%out,'w').write('\n'.join(o)+'\n')
    mesh['SHANK'].pop('mids_all',None)
    if 'WIRE' in mesh: mesh['WIRE'].pop('mids_all',None)
    p['zref']=zref;p['mesh']=mesh;p['nodes']={str(k):v for k,v in allnodes.items()}
    p['nelem']=eid-1
    json.dump(p,open('decks/%s.json'%out,'w'))
    return p
if __name__=='__main__':
    case=sys.argv[1];kw={};out=None
    for a in sys.argv[2:]:
        k,v=a.split('=')
        if k=='out': out=v
        elif k in('elem','unl'): kw[k]=v
        else: kw[k]=float(v) if ('.' in v or 'e' in v) else int(v)
    p=build(case,out,**kw)
    print(out or case,'elements',p['nelem'],'A_shank %.4f A_wire %.4f g0 %.4f'%(p['A_shank'],p['A_wire'],p['g0']))
